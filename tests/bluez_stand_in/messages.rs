//! What BlueZ answers to each call, given the state of the stand-in.

use super::stand_in::{ADAPTER, DEVICE, NEIGHBOUR, State};
use booster_profile::{Characteristic, SERVICE_UUID};
use booster_simulator::LinkParameters;
use dbus::arg::{PropMap, RefArg, Variant};
use dbus::strings::ErrorName;
use dbus::{Message, Path};
use std::collections::HashMap;

type Interfaces = HashMap<String, PropMap>;

const ADAPTER_INTERFACE: &str = "org.bluez.Adapter1";
const DEVICE_INTERFACE: &str = "org.bluez.Device1";
const CHARACTERISTIC_INTERFACE: &str = "org.bluez.GattCharacteristic1";

/// An error by name.
pub type Refusal = (String, String);

pub fn refusal(name: &str, text: &str) -> Refusal {
    (name.to_owned(), text.to_owned())
}

fn unknown_object(path: &str) -> Refusal {
    refusal(
        "org.freedesktop.DBus.Error.UnknownObject",
        &format!("no object at {path}"),
    )
}

fn not_connected() -> Refusal {
    refusal("org.bluez.Error.Failed", "Not connected")
}

fn variant(value: impl RefArg + 'static) -> Variant<Box<dyn RefArg>> {
    Variant(Box::new(value))
}

fn properties<const N: usize>(list: [(&str, Variant<Box<dyn RefArg>>); N]) -> PropMap {
    list.into_iter()
        .map(|(name, value)| (name.to_owned(), value))
        .collect()
}

pub fn service_path() -> String {
    format!("{DEVICE}/service0010")
}

pub fn characteristic_path(c: Characteristic) -> String {
    let index = Characteristic::ALL.iter().position(|x| *x == c).unwrap_or(0);
    format!("{}/char{:04x}", service_path(), 0x20 + index)
}

fn characteristic_at(path: &str) -> Option<Characteristic> {
    Characteristic::ALL
        .iter()
        .copied()
        .find(|c| characteristic_path(*c) == path)
}

fn adapter_properties(state: &State) -> PropMap {
    properties([
        ("Address", variant("00:AA:01:00:00:00".to_owned())),
        ("AddressType", variant("public".to_owned())),
        ("Name", variant("stand-in".to_owned())),
        ("Alias", variant("stand-in".to_owned())),
        ("Modalias", variant("usb:v1234p5678d90AB".to_owned())),
        ("Powered", variant(state.powered)),
        ("Discovering", variant(state.scanning)),
    ])
}

fn device_properties(state: &State) -> PropMap {
    let mut map = properties([
        ("Address", variant("00:AA:01:00:00:42".to_owned())),
        ("AddressType", variant("public".to_owned())),
        ("Name", variant("LM-Test".to_owned())),
        ("Alias", variant("LM-Test".to_owned())),
        ("Paired", variant(state.paired)),
        ("Connected", variant(state.connected)),
        ("ServicesResolved", variant(state.connected)),
        ("Trusted", variant(false)),
        ("Blocked", variant(false)),
        ("LegacyPairing", variant(false)),
        (
            "UUIDs",
            variant(vec![booster_profile::uuid(SERVICE_UUID).to_string()]),
        ),
    ]);
    if state.scanning && state.advertising && !state.connected {
        map.insert("RSSI".to_owned(), variant(-60_i16));
    }
    map
}

fn neighbour_properties(state: &State) -> PropMap {
    let mut map = device_properties(state);
    map.insert("Address".to_owned(), variant("00:AA:01:00:00:43".to_owned()));
    map.insert("Name".to_owned(), variant("LM-Next".to_owned()));
    map
}

fn characteristic_properties(c: Characteristic, mtu: u16) -> PropMap {
    let flags = match c {
        _ if c.is_readable() => vec!["read"],
        Characteristic::RecordAccess | Characteristic::ReportControl | Characteristic::UnitControl => {
            vec!["write", "indicate"]
        }
        _ if c.is_indicated() => vec!["indicate"],
        _ => vec!["notify"],
    };
    let flags: Vec<String> = flags.into_iter().map(str::to_owned).collect();
    properties([
        ("UUID", variant(booster_profile::uuid(c.uuid()).to_string())),
        ("Flags", variant(flags)),
        ("MTU", variant(mtu)),
    ])
}

/// The call that `PropertiesChanged` of an object would announce.
pub fn changed(path: &str, interface: &str, change: PropMap) -> Message {
    let path = Path::new(path).expect("a path");
    let signal = Message::signal(
        &path,
        &"org.freedesktop.DBus.Properties".into(),
        &"PropertiesChanged".into(),
    );
    signal.append3(interface, change, Vec::<String>::new())
}

pub fn value_changed(c: Characteristic, bytes: &[u8]) -> Message {
    let change = properties([("Value", variant(bytes.to_vec()))]);
    changed(&characteristic_path(c), CHARACTERISTIC_INTERFACE, change)
}

pub fn connected_changed(connected: bool) -> Message {
    let change = properties([
        ("Connected", variant(connected)),
        ("ServicesResolved", variant(connected)),
    ]);
    changed(DEVICE, DEVICE_INTERFACE, change)
}

pub fn heard() -> Message {
    changed(DEVICE, DEVICE_INTERFACE, properties([("RSSI", variant(-60_i16))]))
}

pub fn powered_changed(powered: bool) -> Message {
    changed(
        ADAPTER,
        ADAPTER_INTERFACE,
        properties([("Powered", variant(powered))]),
    )
}

fn nodes(children: &[String]) -> String {
    let nodes: String = children
        .iter()
        .map(|child| format!("<node name=\"{child}\"/>"))
        .collect();
    format!("<node>{nodes}</node>")
}

fn last_part(path: String) -> String {
    path.rsplit('/').next().unwrap_or_default().to_owned()
}

/// The answer to a call; an error is one by name.
pub fn answer(state: &mut State, call: &Message) -> Result<Message, Refusal> {
    let path = call.path().map(|p| p.to_string()).unwrap_or_default();
    let member = call.member().map(|m| m.to_string()).unwrap_or_default();
    let reply = call.method_return();
    if member == "GetManagedObjects" {
        return Ok(reply.append1(managed_objects(state)));
    }
    if path == ADAPTER && state.adapter {
        adapter_call(state, call, &member)?;
        return Ok(match member.as_str() {
            "GetAll" => reply.append1(adapter_properties(state)),
            _ => reply,
        });
    }
    if path == NEIGHBOUR && state.neighbour && member == "GetAll" {
        return Ok(reply.append1(neighbour_properties(state)));
    }
    if path.starts_with(DEVICE) && state.adapter && state.known {
        if path == DEVICE {
            return device_call(state, call, &member);
        }
        if !state.connected {
            return Err(unknown_object(&path));
        }
        if path == service_path() {
            return Ok(service_call(state, call, &member));
        }
        if let Some(c) = characteristic_at(&path) {
            return characteristic_call(state, call, &member, c);
        }
    }
    Err(unknown_object(&path))
}

fn managed_objects(state: &State) -> HashMap<Path<'static>, Interfaces> {
    let mut objects = HashMap::new();
    let mut add = |path: &str, interface: &str, map: PropMap| {
        let interfaces: Interfaces = [(interface.to_owned(), map)].into();
        objects.insert(Path::new(path.to_owned()).expect("a path"), interfaces);
    };
    if state.adapter {
        add(ADAPTER, ADAPTER_INTERFACE, adapter_properties(state));
    }
    if state.adapter && state.known {
        add(DEVICE, DEVICE_INTERFACE, device_properties(state));
    }
    if state.neighbour {
        add(NEIGHBOUR, DEVICE_INTERFACE, neighbour_properties(state));
    }
    objects
}

fn adapter_call(state: &mut State, call: &Message, member: &str) -> Result<(), Refusal> {
    match member {
        "Set" => {
            let (_, property, value) = call.get3::<String, String, Variant<bool>>();
            if property.as_deref() == Some("Powered") {
                state.powered = value.is_some_and(|v| v.0);
            }
        }
        "StartDiscovery" => {
            state.scanning = true;
            if state.advertising && state.known {
                state.outbox.push_back(heard());
            }
        }
        "StopDiscovery" if !state.scanning => {
            return Err(refusal("org.bluez.Error.Failed", "No discovery started"));
        }
        "StopDiscovery" => state.scanning = false,
        _ => {}
    }
    Ok(())
}

fn device_call(state: &mut State, call: &Message, member: &str) -> Result<Message, Refusal> {
    let reply = call.method_return();
    Ok(match member {
        "GetAll" => reply.append1(device_properties(state)),
        "Get" => reply.append1(variant(state.connected)),
        "Introspect" => {
            let services = if state.connected {
                vec![last_part(service_path())]
            } else {
                Vec::new()
            };
            reply.append1(nodes(&services))
        }
        "Connect" => {
            if !state.advertising && !state.connected {
                return Err(refusal("org.bluez.Error.Failed", "le-connection-abort-by-local"));
            }
            state.connect();
            reply
        }
        "Disconnect" => {
            state.disconnect();
            reply
        }
        "Pair" => {
            state.paired = true;
            reply
        }
        _ => reply,
    })
}

fn service_call(state: &State, call: &Message, member: &str) -> Message {
    let reply = call.method_return();
    match member {
        "Get" => match call.get2::<String, String>().1.as_deref() {
            Some("UUID") => reply.append1(variant(booster_profile::uuid(SERVICE_UUID).to_string())),
            _ => reply.append1(variant(true)),
        },
        "Introspect" => {
            let children: Vec<_> = Characteristic::ALL
                .iter()
                .take(state.resolved)
                .map(|c| last_part(characteristic_path(*c)))
                .collect();
            reply.append1(nodes(&children))
        }
        _ => reply.append1(properties([
            ("UUID", variant(booster_profile::uuid(SERVICE_UUID).to_string())),
            ("Primary", variant(true)),
        ])),
    }
}

fn characteristic_call(
    state: &mut State,
    call: &Message,
    member: &str,
    c: Characteristic,
) -> Result<Message, Refusal> {
    let reply = call.method_return();
    let att = |e: booster_simulator::AttError| match e.code() {
        Some(code) => refusal(
            "org.bluez.Error.Failed",
            &format!("Operation failed with ATT error: {code:#04x}"),
        ),
        None => not_connected(),
    };
    Ok(match member {
        "GetAll" => reply.append1(characteristic_properties(c, state.mtu)),
        "Introspect" => reply.append1(nodes(&[])),
        "ReadValue" => {
            let bytes = state.simulation.read(c).map_err(att)?.to_vec();
            // BlueZ announces what was read as if it had been notified.
            state.outbox.push_back(value_changed(c, &bytes));
            reply.append1(bytes)
        }
        "WriteValue" => {
            let bytes: Vec<u8> = call.get1().unwrap_or_default();
            state.simulation.write(c, &bytes).map_err(att)?;
            reply
        }
        "StartNotify" => {
            if !state.notifying.insert(c) {
                return Err(refusal("org.bluez.Error.InProgress", "Already notifying"));
            }
            state.simulation.subscribe(c, true).map_err(att)?;
            reply
        }
        _ => reply,
    })
}

/// The error as a reply.
pub fn error_reply(call: &Message, (name, text): &Refusal) -> Message {
    let name = ErrorName::new(name.as_str()).expect("an error name");
    let text = std::ffi::CString::new(text.as_str()).expect("no zero in it");
    call.error(&name, &text)
}

/// What both ends of the stand-in's links agree on.
pub fn link_parameters(mtu: u16) -> LinkParameters {
    LinkParameters {
        mtu,
        encrypted: true,
        authenticated: true,
    }
}
