//! The task that owns the simulation and lets its time run with the clock on the wall.

use super::AirError;
use super::advertise::Advertiser;
use super::journal::Journal;
use super::session::Session;
use super::state::StateFile;
use crate::gatt::{AttError, LinkParameters};
use crate::simulation::{Simulation, What};
use bluer::gatt::CharacteristicWriter;
use bluer::gatt::local::{CharacteristicNotifier, ReqError};
use bluer::{Adapter, Address};
use booster_profile::Characteristic as C;
use std::collections::BTreeMap;
use std::future::Future;
use std::time::{Duration, Instant};
use tokio::sync::{mpsc, oneshot};

/// What BlueZ's callbacks and the sessions tell the engine.
pub(super) enum Message {
    Read {
        c: C,
        mtu: u16,
        from: Address,
        reply: oneshot::Sender<Result<Vec<u8>, ReqError>>,
    },
    Write {
        c: C,
        bytes: Vec<u8>,
        mtu: u16,
        from: Address,
        reply: oneshot::Sender<Result<(), ReqError>>,
    },
    Notifier {
        c: C,
        writer: CharacteristicWriter,
    },
    Indicator {
        c: C,
        notifier: CharacteristicNotifier,
    },
    Confirmed,
    Ended {
        c: C,
        number: u64,
        failure: Option<AirError>,
    },
}

pub(super) struct Engine {
    simulation: Simulation,
    adapter: Adapter,
    advertiser: Advertiser,
    journal: Journal,
    state: StateFile,
    sender: mpsc::Sender<Message>,
    tell: Box<dyn Fn(&str) + Send>,
    start: Instant,
    sessions: BTreeMap<C, Session>,
    next_session: u64,
    client: Option<Address>,
}

impl Engine {
    pub(super) fn new(
        simulation: Simulation,
        adapter: Adapter,
        advertiser: Advertiser,
        journal: Journal,
        state: StateFile,
        sender: mpsc::Sender<Message>,
        tell: Box<dyn Fn(&str) + Send>,
    ) -> Self {
        Self {
            simulation,
            adapter,
            advertiser,
            journal,
            state,
            sender,
            tell,
            start: Instant::now(),
            sessions: BTreeMap::new(),
            next_session: 0,
            client: None,
        }
    }

    pub(super) async fn run(
        mut self,
        mut messages: mpsc::Receiver<Message>,
        shutdown: impl Future<Output = ()>,
    ) -> Result<(), AirError> {
        tokio::pin!(shutdown);
        loop {
            let next = self.start + Duration::from_micros(self.simulation.next_us());
            tokio::select! {
                () = &mut shutdown => break,
                message = messages.recv() => {
                    // The engine itself holds a sender: the channel stays open.
                    if let Some(message) = message {
                        self.pump().await?;
                        self.handle(message)?;
                    }
                }
                () = tokio::time::sleep_until(next.into()) => {}
            }
            self.pump().await?;
        }
        self.state.save(&self.simulation)
    }

    fn wall_us(&self) -> u64 {
        u64::try_from(self.start.elapsed().as_micros()).unwrap_or(u64::MAX)
    }

    /// Brings simulated time up to the wall's and hands out what the unit sends.
    async fn pump(&mut self) -> Result<(), AirError> {
        let until = self.wall_us();
        while let Some(sent) = self.simulation.advance(until) {
            match sent.what {
                What::Value {
                    characteristic,
                    bytes,
                } => {
                    let room = self.sessions.get(&characteristic).is_some_and(|s| s.send(bytes));
                    if !room {
                        (self.tell)(&format!(
                            "a value of {} found no room",
                            characteristic.short_name()
                        ));
                    }
                }
                What::Disconnected => self.cut_link().await,
            }
        }
        self.state.keep_up(&self.simulation)?;
        let advertisement = self.simulation.advertisement();
        self.advertiser.follow(&self.adapter, &advertisement).await;
        Ok(())
    }

    /// The scenario drops the connection, or the unit restarts.
    async fn cut_link(&mut self) {
        self.sessions.clear();
        let Some(address) = self.client.take() else { return };
        let cut = match self.adapter.device(address) {
            Ok(device) => device.disconnect().await,
            Err(e) => Err(e),
        };
        match cut {
            Ok(()) => (self.tell)("the unit dropped the connection"),
            Err(e) => (self.tell)(&format!("the unit could not drop the connection: {e}")),
        }
    }

    fn handle(&mut self, message: Message) -> Result<(), AirError> {
        match message {
            Message::Read { c, mtu, from, reply } => {
                self.connect(from, mtu);
                let value = self.simulation.read(c).map(|v| v.to_vec()).map_err(refusal);
                // A client that went away does not wait for its answer.
                let _ = reply.send(value);
            }
            Message::Write {
                c,
                bytes,
                mtu,
                from,
                reply,
            } => {
                self.connect(from, mtu);
                let _ = reply.send(self.simulation.write(c, &bytes).map_err(refusal));
            }
            Message::Notifier { c, writer } => {
                // bluer passes 2 bytes less than a notification holds, and sends no more than that.
                let mtu = u16::try_from(writer.mtu() + 3).unwrap_or(u16::MAX);
                self.connect(writer.device_address(), mtu);
                let number = self.number();
                let session = Session::notify(c, number, writer, self.journal.clone(), self.sender.clone());
                self.subscribed(c, session);
            }
            Message::Indicator { c, notifier } => {
                if let Some(address) = self.client {
                    self.connect(address, 23);
                } else {
                    self.connect(Address::any(), 23);
                }
                let number = self.number();
                let session =
                    Session::indicate(c, number, notifier, self.journal.clone(), self.sender.clone());
                self.subscribed(c, session);
            }
            Message::Confirmed => self.simulation.confirm(),
            Message::Ended { c, number, failure } => {
                if let Some(failure) = failure {
                    return Err(failure);
                }
                self.ended(c, number);
            }
        }
        Ok(())
    }

    fn number(&mut self) -> u64 {
        self.next_session += 1;
        self.next_session
    }

    fn connect(&mut self, address: Address, mtu: u16) {
        if !self.simulation.is_connected() {
            // BlueZ itself has checked security where an attribute asks for it.
            self.simulation.connect(LinkParameters {
                mtu: mtu.max(23),
                encrypted: true,
                authenticated: true,
            });
            (self.tell)("a console connected");
        } else if mtu > 23 {
            self.simulation.set_mtu(mtu);
        }
        if address != Address::any() {
            self.client = Some(address);
        }
    }

    fn subscribed(&mut self, c: C, session: Session) {
        self.sessions.insert(c, session);
        if let Err(e) = self.simulation.subscribe(c, true) {
            (self.tell)(&format!("a subscription was refused: {e}"));
        }
    }

    /// A session ended; with the last one the connection has.
    fn ended(&mut self, c: C, number: u64) {
        // A new session of the same characteristic may have begun meanwhile.
        if self.sessions.get(&c).is_none_or(|s| s.number != number) {
            return;
        }
        self.sessions.remove(&c);
        if self.sessions.is_empty() {
            self.simulation.disconnect();
            self.client = None;
            (self.tell)("the console disconnected");
        } else if let Err(e) = self.simulation.subscribe(c, false) {
            (self.tell)(&format!("ending a subscription was refused: {e}"));
        }
    }
}

/// What BlueZ can say of an ATT error: it has names for a few only, and turns the rest into "unlikely error".
fn refusal(error: AttError) -> ReqError {
    match error {
        AttError::NotConnected | AttError::ImproperlyConfigured(_) => ReqError::Failed,
        AttError::ReadNotPermitted(_) | AttError::WriteNotPermitted(_) => ReqError::NotPermitted,
        AttError::InsufficientAuthentication(_) | AttError::InsufficientEncryption(_) => {
            ReqError::NotAuthorized
        }
        AttError::RequestNotSupported(_) => ReqError::NotSupported,
        AttError::ProcedureInProgress(_) => ReqError::InProgress,
    }
}
