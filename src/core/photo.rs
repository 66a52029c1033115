//! Photos of the work: what they are of, and what a file really is.
//!
//! What the sender calls a file counts for nothing: its first octets tell, and only what a browser draws without
//! running anything is taken.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use std::fmt;
use utoipa::ToSchema;

/// The largest photo that is kept, octets. The page makes photos smaller than that before it sends them.
pub const LARGEST: usize = 2 << 20;

/// How a photo is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PhotoKind {
    /// JPEG.
    Jpeg,
    /// PNG.
    Png,
    /// WebP.
    WebP,
}

impl PhotoKind {
    /// What `octets` begin like; none if that is no photo that is taken.
    #[must_use]
    pub fn of(octets: &[u8]) -> Option<Self> {
        match octets {
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1A, b'\n', ..] => Some(Self::Png),
            [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(Self::WebP),
            _ => None,
        }
    }

    /// Its media type.
    #[must_use]
    pub const fn media_type(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
            Self::WebP => "image/webp",
        }
    }
}

/// That a photo was taken. The photo itself stands beside the chain, where it can be erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Photo {
    /// What it is of: a fastener, a joint, or something that is noted as found.
    pub about: String,
    /// How it is stored.
    pub format: PhotoKind,
    /// Its size, octets.
    pub octets: u32,
}

/// A photo about to be kept.
#[derive(Clone, PartialEq, Eq)]
pub struct NewPhoto {
    /// What is known of it.
    pub photo: Photo,
    /// The file, packed.
    pub packed: String,
}

impl fmt::Debug for NewPhoto {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.photo.fmt(f)
    }
}

/// Why a file is not taken as a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoPhoto {
    /// It is none of the kinds that are taken.
    #[error(
        "expected a photo in JPEG, PNG or WebP, but found a file that begins otherwise; take a photo, or save it as one of these"
    )]
    Kind,
    /// It is too large.
    #[error("expected a photo of at most {LARGEST} octets, but found {0}; make it smaller")]
    Size(usize),
}

impl NewPhoto {
    /// Of a file, as something that shows `about`.
    ///
    /// # Errors
    /// It is no photo, or too large.
    pub fn new(about: String, octets: &[u8]) -> Result<Self, NoPhoto> {
        if octets.len() > LARGEST {
            return Err(NoPhoto::Size(octets.len()));
        }
        let kind = PhotoKind::of(octets).ok_or(NoPhoto::Kind)?;
        let size = u32::try_from(octets.len()).map_err(|_| NoPhoto::Size(octets.len()))?;
        let photo = Photo { about, format: kind, octets: size };
        Ok(Self { photo, packed: STANDARD.encode(octets) })
    }
}

/// The file that was packed so; none if it was not.
#[must_use]
pub fn unpack(packed: &str) -> Option<Vec<u8>> {
    STANDARD.decode(packed).ok()
}

#[cfg(test)]
mod tests {
    use super::{LARGEST, NewPhoto, NoPhoto, PhotoKind, unpack};

    #[test]
    fn a_photo_is_known_by_what_it_is_and_comes_back_as_it_was() {
        for (octets, kind) in [
            (&b"\xFF\xD8\xFF\xE0 and so on"[..], PhotoKind::Jpeg),
            (&b"\x89PNG\r\n\x1A\n and so on"[..], PhotoKind::Png),
            (&b"RIFF\x10\0\0\0WEBPVP8 "[..], PhotoKind::WebP),
        ] {
            let taken = NewPhoto::new("hub-nut/1".to_owned(), octets).unwrap();
            assert_eq!((taken.photo.format, taken.photo.octets as usize), (kind, octets.len()));
            assert_eq!(unpack(&taken.packed).as_deref(), Some(octets));
        }
    }

    #[test]
    fn what_is_no_photo_or_too_large_is_refused() {
        let refused = |octets: &[u8]| NewPhoto::new(String::new(), octets).unwrap_err();
        for octets in [&b""[..], b"\xFF\xD8", b"<svg onload=x>", b"GIF89a", b"RIFF\x10\0\0\0WAVE"] {
            assert_eq!(refused(octets), NoPhoto::Kind);
        }
        let mut large = vec![0; LARGEST + 1];
        large[..3].copy_from_slice(b"\xFF\xD8\xFF");
        assert_eq!(refused(&large), NoPhoto::Size(LARGEST + 1));
        large.pop();
        assert!(NewPhoto::new(String::new(), &large).is_ok());
    }
}
