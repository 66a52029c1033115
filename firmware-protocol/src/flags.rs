//! Sets of bits with names.

/// Defines a set of bits that keeps bits it has no name for.
macro_rules! flags {
    (
        $(#[$about:meta])*
        $name:ident($bits:ty) {
            $($(#[$bit_about:meta])* $bit:ident = $position:literal, $word:literal;)*
        }
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
        pub struct $name($bits);

        impl $name {
            $($(#[$bit_about])* pub const $bit: Self = Self(1 << $position);)*

            /// No bit set.
            pub const NONE: Self = Self(0);

            /// All bits, as on the wire.
            #[must_use]
            pub const fn bits(self) -> $bits {
                self.0
            }

            /// These bits. Where the field on the wire has fewer, those above it are not sent.
            #[must_use]
            pub const fn from_bits(bits: $bits) -> Self {
                Self(bits)
            }

            /// Whether all bits of `other` are set here.
            #[must_use]
            pub const fn has(self, other: Self) -> bool {
                self.0 & other.0 == other.0
            }

            /// These bits and those of `other`.
            #[must_use]
            pub const fn with(self, other: Self) -> Self {
                Self(self.0 | other.0)
            }

            /// These bits without those of `other`.
            #[must_use]
            pub const fn without(self, other: Self) -> Self {
                Self(self.0 & !other.0)
            }

            /// `other` if `condition` holds, otherwise nothing, added to these bits.
            #[must_use]
            pub const fn with_if(self, condition: bool, other: Self) -> Self {
                if condition { self.with(other) } else { self }
            }
        }

        impl core::fmt::Display for $name {
            /// The names of the bits, joined by `+`; unnamed bits by number; `none` for none.
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                if self.0 == 0 {
                    return f.write_str("none");
                }
                let mut first = true;
                for position in 0..<$bits>::BITS {
                    if self.0 & (1 << position) == 0 {
                        continue;
                    }
                    if !first {
                        f.write_str("+")?;
                    }
                    first = false;
                    match position {
                        $($position => f.write_str($word)?,)*
                        _ => write!(f, "bit-{position}")?,
                    }
                }
                Ok(())
            }
        }
    };
}

pub(crate) use flags;
