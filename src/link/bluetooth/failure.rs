//! From the Bluetooth stack's errors to causes that the policy knows.

use crate::link::command::{Command, Failure};
use crate::link::policy::Cause;
use crate::link::reducer::describe;

/// How a call ended that reported an error.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// What was asked for is the case already.
    AlreadySo,
    /// It failed.
    Failed(Failure),
}

/// Judges an error that a command ended with.
pub fn judge(command: &Command, error: &btleplug::Error) -> Verdict {
    let (name, message) = bus_name(error);
    if is_already_so(command, &name, &message) {
        return Verdict::AlreadySo;
    }
    let own_words = if message.is_empty() { &name } else { &message };
    Verdict::Failed(Failure {
        cause: variant(error).unwrap_or_else(|| cause(command, &name, &message)),
        words: format!("{} failed: {own_words}", describe(command)),
    })
}

/// Errors that say by their kind what is the matter; BlueZ uses hardly any of them.
fn variant(error: &btleplug::Error) -> Option<Cause> {
    Some(match error {
        btleplug::Error::PermissionDenied => Cause::NoPermission,
        btleplug::Error::DeviceNotFound => Cause::UnitForgotten,
        btleplug::Error::NotConnected => Cause::Dropped,
        btleplug::Error::NoAdapterAvailable => Cause::NoAdapter,
        btleplug::Error::TimedOut(_) => Cause::TimedOut,
        btleplug::Error::NoSuchCharacteristic => Cause::NotABooster,
        _ => return None,
    })
}

/// The D-Bus name of an error and its message; the name is empty on other systems.
fn bus_name(error: &btleplug::Error) -> (String, String) {
    #[cfg(target_os = "linux")]
    if let btleplug::Error::Other(inner) = error
        && let Some(bluez_async::BluetoothError::DbusError(bus)) =
            inner.downcast_ref::<bluez_async::BluetoothError>()
    {
        let text = |t: Option<&str>| t.unwrap_or_default().to_owned();
        return (text(bus.name()), text(bus.message()));
    }
    (String::new(), error.to_string())
}

fn is_already_so(command: &Command, name: &str, message: &str) -> bool {
    let says = |words: &str| message.to_ascii_lowercase().contains(words);
    match command {
        Command::StartScan => name.ends_with(".InProgress"),
        Command::Subscribe(_) => name.ends_with(".InProgress") || says("already notifying"),
        Command::Connect { .. } => name.ends_with(".AlreadyConnected") || says("already connected"),
        Command::Disconnect => name.ends_with(".NotConnected") || says("not connected"),
        _ => false,
    }
}

/// The cause behind a D-Bus error. The same name means different things for the adapter and for the unit.
fn cause(command: &Command, name: &str, message: &str) -> Cause {
    let message = message.to_ascii_lowercase();
    let about_adapter = matches!(
        command,
        Command::Open { .. } | Command::StartScan | Command::StopScan
    );
    match name.rsplit('.').next().unwrap_or_default() {
        "ServiceUnknown" | "NameHasNoOwner" | "FileNotFound" | "NoServer" | "ServiceNotFound" => {
            Cause::NoService
        }
        _ if name.contains(".Spawn.") => Cause::NoService,
        "AccessDenied" | "AuthFailed" => Cause::NoPermission,
        "NoReply" | "Timeout" | "TimedOut" | "Disconnected" => Cause::TimedOut,
        "UnknownObject" | "UnknownMethod" | "UnknownInterface" | "DoesNotExist" | "NoSuchAdapter" => {
            if about_adapter {
                Cause::NoAdapter
            } else {
                Cause::UnitForgotten
            }
        }
        "NotReady" | "Blocked" => Cause::AdapterOff,
        "InProgress" => Cause::Busy,
        "NotConnected" => Cause::Dropped,
        "NotAuthorized"
        | "AuthenticationFailed"
        | "AuthenticationCanceled"
        | "AuthenticationRejected"
        | "AuthenticationTimeout" => Cause::PairingNeeded,
        // What the D-Bus layer says once the bus itself is gone.
        _ if message.contains("failed to send message") => Cause::TimedOut,
        _ if message.contains("not connected") => Cause::Dropped,
        _ if message.contains("rfkill") => Cause::AdapterOff,
        // ATT error codes of Core specification Vol 3 Part F 3.4.1.1: authentication, authorization, key size,
        // encryption.
        _ if ["0x05", "0x08", "0x0c", "0x0f"]
            .iter()
            .any(|code| message.contains(&format!("att error: {code}"))) =>
        {
            Cause::PairingNeeded
        }
        _ => Cause::Refused,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use booster_profile::Characteristic;

    const FREEDESKTOP: &str = "org.freedesktop.DBus.Error";
    const BLUEZ: &str = "org.bluez.Error";

    fn connect() -> Command {
        Command::Connect { id: "x".into() }
    }

    #[test]
    fn errors_by_name() {
        let open = Command::Open { rebuild: false };
        let read = Command::Read(Characteristic::BoosterFeature);
        #[rustfmt::skip]
        let table = [
            (&open, FREEDESKTOP, "FileNotFound",   "Failed to connect to socket", Cause::NoService),
            (&open, FREEDESKTOP, "ServiceUnknown", "",                            Cause::NoService),
            (&open, FREEDESKTOP, "NameHasNoOwner", "",                            Cause::NoService),
            (&open, FREEDESKTOP, "Spawn.ChildExited", "",                         Cause::NoService),
            (&open, FREEDESKTOP, "AccessDenied",   "",                            Cause::NoPermission),
            (&open, FREEDESKTOP, "UnknownObject",  "",                            Cause::NoAdapter),
            (&open, BLUEZ,       "NotReady",       "Resource Not Ready",          Cause::AdapterOff),
            (&open, BLUEZ,       "Failed",         "Blocked through rfkill",      Cause::AdapterOff),
            (&read, FREEDESKTOP, "UnknownObject",  "",                            Cause::UnitForgotten),
            (&read, FREEDESKTOP, "NoReply",        "",                            Cause::TimedOut),
            (&read, FREEDESKTOP, "Timeout",        "",                            Cause::TimedOut),
            (&read, FREEDESKTOP, "Failed",         "Failed to send message",      Cause::TimedOut),
            (&read, BLUEZ,       "Failed",         "Not connected",               Cause::Dropped),
            (&read, BLUEZ,       "NotConnected",   "Not Connected",               Cause::Dropped),
            (&read, BLUEZ,       "Failed",  "Operation failed with ATT error: 0x0e", Cause::Refused),
            (&read, BLUEZ,       "Failed",  "Operation failed with ATT error: 0x0f", Cause::PairingNeeded),
            (&read, BLUEZ,       "NotAuthorized",  "",                            Cause::PairingNeeded),
            (&read, BLUEZ,       "NotPermitted",   "Read not permitted",          Cause::Refused),
            (&read, "",          "",               "some other system",           Cause::Refused),
        ];
        for (command, prefix, name, message, expected) in table {
            let full = format!("{prefix}.{name}");
            assert_eq!(cause(command, &full, message), expected, "{full} {message}");
        }
        assert_eq!(cause(&connect(), "org.bluez.Error.InProgress", ""), Cause::Busy);
        let aborted = cause(
            &connect(),
            "org.bluez.Error.Failed",
            "le-connection-abort-by-local",
        );
        assert_eq!(aborted, Cause::Refused, "tried again");
    }

    #[test]
    fn what_is_already_so_is_no_failure() {
        let subscribe = Command::Subscribe(Characteristic::BandTelemetry);
        assert!(is_already_so(&subscribe, "org.bluez.Error.InProgress", ""));
        assert!(is_already_so(
            &subscribe,
            "org.bluez.Error.Failed",
            "Already notifying"
        ));
        assert!(is_already_so(
            &Command::StartScan,
            "org.bluez.Error.InProgress",
            ""
        ));
        assert!(is_already_so(&connect(), "org.bluez.Error.AlreadyConnected", ""));
        assert!(is_already_so(
            &Command::Disconnect,
            "org.bluez.Error.NotConnected",
            ""
        ));
        assert!(!is_already_so(&connect(), "org.bluez.Error.InProgress", ""));
    }
}
