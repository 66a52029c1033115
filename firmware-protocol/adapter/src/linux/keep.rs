//! What outlives a restart of this program: epoch, unreleased readings and bonds in the state file, and
//! every reading ever made in the log, with what guided the hand.

use std::cell::RefCell;
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use clampbook_protocol::{Epoch, Motion, Reading, Versioned};
use clampbook_reference_adapter::device::{Device, after};
use clampbook_reference_adapter::store::{Record, Store};
use serde_json::{Value, json};
use trouble_host::prelude::*;

use super::answer;
use super::world::details;

/// Bonds kept, at most; the host stack has room for ten.
const BONDS: usize = 8;

/// The state file and the log, each of them optional.
#[derive(Default)]
pub(crate) struct Keep {
    state: Option<PathBuf>,
    log: Option<RefCell<File>>,
    bonds: RefCell<Vec<BondInformation>>,
    /// Hosts that the host stack still has to forget.
    deleted: RefCell<Vec<Identity>>,
}

/// What the state file held.
pub(crate) struct Kept<const N: usize> {
    /// The epoch that begins now.
    pub(crate) epoch: Epoch,
    pub(crate) store: Store<N>,
    pub(crate) overloaded: bool,
}

impl Keep {
    /// Opens both; the error is a sentence for the user.
    pub(crate) fn open<const N: usize>(
        state: Option<&Path>,
        log: Option<&Path>,
    ) -> Result<(Self, Kept<N>), String> {
        let mut keep = Self { state: state.map(Path::to_owned), ..Self::default() };
        if let Some(path) = log {
            let file = OpenOptions::new().create(true).append(true).open(path);
            let file = file.map_err(|e| {
                format!("expected a log, but {} cannot be opened: {e}", path.display())
            })?;
            keep.log = Some(RefCell::new(file));
        }
        let mut kept = Kept { epoch: Epoch::MIN, store: Store::default(), overloaded: false };
        if let Some(path) = state.filter(|path| path.exists()) {
            let broken = |what: &str| {
                format!(
                    "expected {what} in the state file {}, but found none; remove it to start afresh",
                    path.display()
                )
            };
            let text = std::fs::read_to_string(path).map_err(|e| broken(&format!("text ({e})")))?;
            let value: Value =
                serde_json::from_str(&text).map_err(|e| broken(&format!("JSON ({e})")))?;
            let epoch = value["epoch"].as_u64().and_then(|n| Epoch::new(u16::try_from(n).ok()?));
            kept.epoch = after(epoch.ok_or_else(|| broken("an epoch"))?);
            let motions: Vec<&Value> = value["motions"].as_array().into_iter().flatten().collect();
            let motions: Option<Vec<Motion>> = motions.into_iter().map(motion).collect();
            let motions = motions.ok_or_else(|| broken("a motion"))?;
            for record in value["readings"].as_array().into_iter().flatten() {
                let reading = reading(record).ok_or_else(|| broken("a reading record"))?;
                let leads = |motion: &&Motion| {
                    (motion.epoch, motion.to) == (reading.key.epoch, reading.key.sequence)
                };
                let motion = motions.iter().find(leads).copied();
                kept.store.push(Record { reading, motion });
            }
            kept.overloaded = value["overloaded"] == json!(true);
            if value["records_lost"] == json!(true) {
                kept.store.set_lost();
            }
            let bonds = value["bonds"].as_array().into_iter().flatten().map(bond);
            let bonds: Option<Vec<BondInformation>> = bonds.collect();
            keep.bonds = RefCell::new(bonds.ok_or_else(|| broken("a bond"))?);
        }
        Ok((keep, kept))
    }

    /// The hosts bonded with.
    pub(crate) fn bonds(&self) -> Vec<BondInformation> {
        self.bonds.borrow().clone()
    }

    /// Keeps a bond, in place of an older one with the same host.
    pub(crate) fn bond<const N: usize>(&self, bond: BondInformation, device: &Device<N>) {
        self.bonds.borrow_mut().retain(|old| !old.identity.match_identity(&bond.identity));
        let mut bonds = self.bonds.borrow_mut();
        if bonds.len() == BONDS {
            bonds.remove(0);
        }
        bonds.push(bond);
        drop(bonds);
        self.device(device);
    }

    /// Forgets every bond; [`Keep::take_deleted`] then tells the host stack.
    pub(crate) fn delete_bonds(&self) {
        let bonds = std::mem::take(&mut *self.bonds.borrow_mut());
        self.deleted.borrow_mut().extend(bonds.into_iter().map(|bond| bond.identity));
    }

    /// Hosts whose bonds were deleted since this was last asked.
    pub(crate) fn take_deleted(&self) -> Vec<Identity> {
        std::mem::take(&mut *self.deleted.borrow_mut())
    }

    /// Writes the state file anew, in one step.
    pub(crate) fn device<const N: usize>(&self, device: &Device<N>) {
        let Some(path) = &self.state else { return };
        let readings: Vec<String> = device.store().readings().map(|r| hex(&r.emit())).collect();
        let motions = device.store().records().filter_map(|record| record.motion);
        let motions: Vec<String> = motions.map(|motion| hex(&motion.emit())).collect();
        let bonds: Vec<Value> = self.bonds.borrow().iter().map(bond_value).collect();
        let state = json!({
            "epoch": device.epoch(),
            "readings": readings,
            "motions": motions,
            "records_lost": device.store().has_lost(),
            "overloaded": device.is_overloaded(),
            "bonds": bonds,
        });
        let fresh = path.with_extension("new");
        let written = File::create(&fresh)
            .and_then(|mut file| {
                file.write_all(state.to_string().as_bytes())?;
                file.sync_all()
            })
            .and_then(|()| std::fs::rename(&fresh, path));
        if let Err(error) = written {
            answer::complain(&format!(
                "the state file {} cannot be written: {error}",
                path.display()
            ));
        }
    }

    /// Appends a reading to the log.
    pub(crate) fn log(&self, reading: &Reading) {
        self.append(&details(reading));
    }

    /// Appends something else that happened to the log; its name tells it from a reading.
    pub(crate) fn note(&self, name: &str, details: &Value) {
        let mut object = details.clone();
        object["event"] = json!(name);
        self.append(&object);
    }

    fn append(&self, object: &Value) {
        let Some(file) = &self.log else { return };
        // One write: who reads along sees whole lines.
        let line = format!("{object}\n");
        if let Err(error) = file.borrow_mut().write_all(line.as_bytes()) {
            answer::complain(&format!("the log cannot be written: {error}"));
        }
    }
}

fn hex(octets: &[u8]) -> String {
    octets.iter().map(|octet| format!("{octet:02x}")).collect()
}

fn octets<const N: usize>(value: &Value) -> Option<[u8; N]> {
    let text = value.as_str().filter(|text| text.len() == 2 * N && text.is_ascii())?;
    let mut octets = [0; N];
    for (place, octet) in octets.iter_mut().enumerate() {
        *octet = u8::from_str_radix(&text[2 * place..2 * place + 2], 16).ok()?;
    }
    Some(octets)
}

fn reading(value: &Value) -> Option<Reading> {
    let octets = octets::<{ Reading::LENGTH }>(value)?;
    Reading::parse(&octets).ok().and_then(Versioned::known)
}

fn motion(value: &Value) -> Option<Motion> {
    let octets = octets::<{ Motion::LENGTH }>(value)?;
    Motion::parse(&octets).ok().and_then(Versioned::known)
}

fn bond_value(bond: &BondInformation) -> Value {
    json!({
        "kind": bond.identity.addr.kind.into_inner(),
        "address": hex(bond.identity.addr.addr.raw()),
        "identity_key": bond.identity.irk.map(|key| hex(&key.to_le_bytes())),
        "key": hex(&bond.ltk.to_le_bytes()),
        "authenticated": bond.security_level.authenticated(),
    })
}

fn bond(value: &Value) -> Option<BondInformation> {
    let kind = u8::try_from(value["kind"].as_u64()?).ok()?;
    let address = Address::new(AddrKind::new(kind), BdAddr::new(octets(&value["address"])?));
    let irk = match &value["identity_key"] {
        Value::Null => None,
        key => Some(IdentityResolvingKey::from_le_bytes(octets(key)?)?),
    };
    let level = if value["authenticated"].as_bool()? {
        SecurityLevel::EncryptedAuthenticated
    } else {
        SecurityLevel::Encrypted
    };
    let key = LongTermKey::from_le_bytes(octets(&value["key"])?);
    Some(BondInformation::new(Identity { addr: address, irk }, key, level, true))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bond_survives_the_state_file() {
        for irk in [None, IdentityResolvingKey::new(7)] {
            let kept = BondInformation::new(
                Identity {
                    addr: Address::new(AddrKind::PUBLIC, BdAddr::new([1, 2, 3, 4, 5, 0xFE])),
                    irk,
                },
                LongTermKey::new(0x0123_4567_89AB_CDEF),
                SecurityLevel::Encrypted,
                true,
            );
            assert_eq!(bond(&bond_value(&kept)), Some(kept));
        }
        assert_eq!(bond(&json!({ "kind": 0, "address": "zz" })), None);
    }
}
