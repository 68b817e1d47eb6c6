//! The GATT application: the profile's attribute table in BlueZ's terms. Every callback becomes a message.

use super::engine::Message;
use bluer::agent::Agent;
use bluer::gatt::local::{
    Application, Characteristic as Local, CharacteristicControl, CharacteristicControlEvent,
    CharacteristicNotify, CharacteristicNotifyMethod, CharacteristicRead, CharacteristicWrite,
    CharacteristicWriteMethod, ReqError, Service, characteristic_control,
};
use booster_profile::{Characteristic as C, SERVICE_UUID};
use futures::{FutureExt, StreamExt};
use tokio::sync::{mpsc, oneshot};
use uuid::Uuid;

/// Device Information Service.
const DEVICE_INFORMATION: u128 = 0x0000_180a_0000_1000_8000_0080_5f9b_34fb;

/// An agent that lets anybody pair: the unit is simulated.
pub(super) fn agent() -> Agent {
    Agent {
        request_default: true,
        request_authorization: Some(Box::new(|_| async { Ok(()) }.boxed())),
        request_confirmation: Some(Box::new(|_| async { Ok(()) }.boxed())),
        ..Default::default()
    }
}

/// The two services.
pub(super) fn application(engine: &mpsc::Sender<Message>) -> Application {
    let is_information = |c: &C| {
        matches!(
            c,
            C::ManufacturerName
                | C::ModelNumber
                | C::SerialNumber
                | C::FirmwareRevision
                | C::HardwareRevision
        )
    };
    let service = |uuid: u128, information: bool| Service {
        uuid: Uuid::from_u128(uuid),
        primary: true,
        characteristics: C::ALL
            .iter()
            .filter(|c| is_information(c) == information)
            .map(|c| characteristic(*c, engine))
            .collect(),
        ..Default::default()
    };
    Application {
        services: vec![service(DEVICE_INFORMATION, true), service(SERVICE_UUID, false)],
        ..Default::default()
    }
}

fn characteristic(c: C, engine: &mpsc::Sender<Message>) -> Local {
    let mut local = Local {
        uuid: Uuid::from_u128(c.uuid()),
        ..Default::default()
    };
    if c.is_readable() {
        local.read = Some(read(c, engine.clone()));
    }
    if matches!(c, C::RecordAccess | C::ReportControl | C::UnitControl) {
        local.write = Some(write(c, engine.clone()));
    }
    if c.is_indicated() {
        local.notify = Some(indicate(c, engine.clone()));
    } else if c.is_subscribable() {
        // Over a socket: back-pressure, and the end of the link shows.
        let (control, handle) = characteristic_control();
        tokio::spawn(forward(c, control, engine.clone()));
        local.control_handle = handle;
        local.notify = Some(CharacteristicNotify {
            notify: true,
            method: CharacteristicNotifyMethod::Io,
            ..Default::default()
        });
    }
    local
}

fn read(c: C, engine: mpsc::Sender<Message>) -> CharacteristicRead {
    CharacteristicRead {
        read: true,
        fun: Box::new(move |request| {
            let engine = engine.clone();
            async move {
                let (reply, answer) = oneshot::channel();
                let message = Message::Read {
                    c,
                    mtu: request.mtu,
                    from: request.device_address,
                    reply,
                };
                engine.send(message).await.map_err(|_| ReqError::Failed)?;
                let value = answer.await.map_err(|_| ReqError::Failed)??;
                // BlueZ asks again with an offset for what is longer than a packet.
                let rest = value
                    .get(usize::from(request.offset)..)
                    .ok_or(ReqError::InvalidOffset)?;
                Ok(rest.to_vec())
            }
            .boxed()
        }),
        ..Default::default()
    }
}

fn write(c: C, engine: mpsc::Sender<Message>) -> CharacteristicWrite {
    CharacteristicWrite {
        write: true,
        // BlueZ itself refuses an unpaired client.
        encrypt_authenticated_write: c.needs_pairing(),
        method: CharacteristicWriteMethod::Fun(Box::new(move |bytes, request| {
            let engine = engine.clone();
            async move {
                let (reply, answer) = oneshot::channel();
                let message = Message::Write {
                    c,
                    bytes,
                    mtu: request.mtu,
                    from: request.device_address,
                    reply,
                };
                engine.send(message).await.map_err(|_| ReqError::Failed)?;
                answer.await.map_err(|_| ReqError::Failed)?
            }
            .boxed()
        })),
        ..Default::default()
    }
}

fn indicate(c: C, engine: mpsc::Sender<Message>) -> CharacteristicNotify {
    CharacteristicNotify {
        indicate: true,
        // Through D-Bus: that way the client's confirmation comes back.
        method: CharacteristicNotifyMethod::Fun(Box::new(move |notifier| {
            let engine = engine.clone();
            async move {
                // The engine outlives every session; when it is gone the program ends.
                let _ = engine.send(Message::Indicator { c, notifier }).await;
            }
            .boxed()
        })),
        ..Default::default()
    }
}

async fn forward(c: C, control: CharacteristicControl, engine: mpsc::Sender<Message>) {
    let mut control = std::pin::pin!(control);
    while let Some(event) = control.next().await {
        if let CharacteristicControlEvent::Notify(writer) = event
            && engine.send(Message::Notifier { c, writer }).await.is_err()
        {
            return;
        }
    }
}
