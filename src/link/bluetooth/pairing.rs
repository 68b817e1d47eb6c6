//! Pairing before the first write that needs it (Linux; other systems pair by themselves, with a dialogue of their own).
//!
//! BlueZ pairs by itself when a write is refused for want of security, but it repeats the write at ever higher levels
//! while pairing still runs, and then gives up or loses it, together with every later write (seen with 5.66 in
//! `tests/virtual-radio`, scenario `pairing`). So the program pairs first, and writes once that is done.

use crate::link::reducer::PAIRING_LIMIT;
use bluez_async::{BluetoothError, BluetoothSession};

/// Pairs with the unit, unless this computer is paired with it already. Ends when a person or the unit has confirmed;
/// the caller sets a limit. A unit that the system does not know is left to the write that follows.
///
/// # Errors
/// What BlueZ says: nobody confirmed, the unit refused, no service.
pub(super) async fn ensure(id: &str) -> Result<(), BluetoothError> {
    let (connection, session) = BluetoothSession::new().await?;
    let connection = tokio::spawn(connection);
    let outcome = pair(&session, id).await;
    connection.abort();
    outcome
}

async fn pair(session: &BluetoothSession, id: &str) -> Result<(), BluetoothError> {
    let devices = session.get_devices().await?;
    match devices.iter().find(|device| device.id.to_string() == id) {
        Some(device) if !device.paired => session.pair_with_timeout(&device.id, PAIRING_LIMIT).await,
        _ => Ok(()),
    }
}
