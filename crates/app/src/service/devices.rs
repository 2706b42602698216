//! Paired devices: who may use the page from elsewhere in the house, and how they are shut out.
//!
//! What a device proves itself with is random and hashed by whoever serves the page; here it is a name with a hash.
//! When a device was last seen is kept in memory only: reading a page is no change.

use super::entry::Reader;
use super::{Failure, Made, Outcome, Request, Service, error};
use serde::{Deserialize, Serialize};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Device, Subject};
use std::sync::PoisonError;

/// What is typed when a device is paired.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DeviceDraft {
    /// What its owner calls it.
    pub name: String,
}

/// A device and when it last asked for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceView {
    /// The device.
    pub device: Device,
    /// When it was last seen since the program began, UTC.
    pub seen: Option<String>,
}

impl Service {
    /// Every device that was ever paired: those that may come in first, then those shut out.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn devices(&self) -> Outcome<Vec<DeviceView>> {
        let mut all = self.all::<Device>()?;
        all.sort_by_key(|d| d.revoked);
        let seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        let view = |device: Device| DeviceView {
            seen: seen.get(&device.id).cloned(),
            device,
        };
        Ok(all.into_iter().map(view).collect())
    }

    /// The device that may come in with this proof, which is thereby seen.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn device_with(&self, token_hash: &str) -> Outcome<Option<Device>> {
        let device = self.store().device_with(token_hash)?;
        if let Some(device) = &device {
            let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
            seen.insert(device.id, self.now());
        }
        Ok(device)
    }

    /// The device that may come in under a name or number.
    ///
    /// # Errors
    /// There is none.
    pub fn device_named(&self, text: &str) -> Outcome<Device> {
        let wanted = text.trim();
        let number: Option<i64> = wanted.parse().ok();
        let mut all = self.all::<Device>()?.into_iter().filter(|d| !d.revoked);
        all.find(|d| d.name == wanted || Some(d.id) == number)
            .ok_or_else(|| {
                Error::new(
                    Kind::Unknown,
                    "device",
                    wanted,
                    "a device that is paired",
                    "`spoolwright device list` shows them.",
                )
                .into()
            })
    }

    /// Makes sure a device could be paired under what was typed.
    ///
    /// # Errors
    /// The name is missing, too long, or another device has it.
    pub fn may_pair(&self, draft: &DeviceDraft) -> Outcome<String> {
        let mut r = Reader::new();
        let name = r.name("the name of the device", &draft.name);
        r.finish()?;
        let mut all = self.all::<Device>()?.into_iter();
        if all.any(|d| !d.revoked && d.name == name) {
            return Err(error::at(
                "name",
                Error::new(
                    Kind::Conflict,
                    "the name of the device",
                    format!("{name:?}, which is taken"),
                    "a name that no other paired device has",
                    "Choose another, or forget the other device first.",
                ),
            ));
        }
        Ok(name)
    }

    /// Lets a device in that will prove itself with what has this SHA-256.
    ///
    /// # Errors
    /// As for [`Service::may_pair`].
    pub fn pair_device(
        &self,
        draft: &DeviceDraft,
        token_hash: &str,
        request: Request<'_>,
    ) -> Outcome<Made<i64>> {
        let name = self.may_pair(draft)?;
        let paired_on = self.today();
        self.change(request, |change| {
            let story = format!("Paired the device {name:?}: it may see and change everything.");
            let id = change.put(&Device {
                id: 0,
                name,
                token_hash: token_hash.to_owned(),
                paired_on,
                revoked: false,
            })?;
            Ok(("device.paired", story, id))
        })
    }

    /// Shuts a device out.
    ///
    /// # Errors
    /// There is no such device.
    pub fn forget_device(&self, id: i64, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let device: Device = super::find_in(change, id)?;
            let story = format!(
                "Forgot the device {:?}: it is shut out. Undoing this would let it in again.",
                device.name
            );
            shut_out(change, device)?;
            Ok(("device.forgotten", story, ()))
        })
    }

    /// Shuts every device out.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn forget_all_devices(&self, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let mut names = Vec::new();
            for device in change.all::<Device>()? {
                if !device.revoked {
                    names.push(format!("{:?}", device.name));
                    shut_out(change, device)?;
                }
            }
            let story = format!(
                "Forgot every device ({}): all are shut out. Undoing this would let them in again.",
                names.join(", ")
            );
            Ok(("device.forgotten", story, ()))
        })
    }
}

fn shut_out(change: &mut Change<'_>, device: Device) -> Result<(), Failure> {
    change.about(Subject::of::<Device>(device.id));
    change.put(&Device {
        revoked: true,
        ..device
    })?;
    Ok(())
}

/// Makes sure an undo lets no device in: who may come in is decided at this machine.
pub(super) fn lets_nobody_in(change: &Change<'_>) -> Outcome<()> {
    for id in change.rows_of::<Device>() {
        if let Some(device) = change.get::<Device>(id)?.filter(|d| !d.revoked) {
            return Err(Error::new(
                Kind::Inconsistent,
                "undo from a paired device",
                format!("one that would let {:?} in again", device.name),
                "an undo that lets no device in",
                "Undo it at the machine the program runs on, or pair the device anew.",
            )
            .into());
        }
    }
    Ok(())
}
