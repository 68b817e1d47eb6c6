//! A client of the default site's unit.

use booster_profile::Characteristic as C;
use booster_profile::control::{ControlResponse, UnitRequest};
use booster_profile::record_access::{Request, Response};
use booster_simulator::{LinkParameters, Scenario, Simulation, What};

pub fn open(mtu: u16) -> Simulation {
    let mut scenario = Scenario::named("weavers-yard").unwrap();
    scenario.transport.interval_ms = 0.0;
    scenario.transport.mtu = 517;
    let mut simulation = Simulation::new(&scenario, 1);
    simulation.connect(LinkParameters {
        mtu,
        encrypted: true,
        authenticated: true,
    });
    simulation
}

pub fn subscribed(mtu: u16) -> Simulation {
    let mut simulation = open(mtu);
    for c in C::ALL.iter().filter(|c| c.is_subscribable()) {
        simulation.subscribe(*c, true).unwrap();
    }
    simulation
}

/// Everything of one characteristic until `until_us`, with the times; indications are confirmed.
pub fn collect(simulation: &mut Simulation, wanted: C, until_us: u64) -> Vec<(u64, Vec<u8>)> {
    let mut all = Vec::new();
    while let Some(sent) = simulation.advance(until_us) {
        let What::Value {
            characteristic,
            bytes,
        } = sent.what
        else {
            panic!("disconnected")
        };
        if characteristic == wanted {
            all.push((sent.at_us, bytes.to_vec()));
        }
        if characteristic.is_indicated() {
            simulation.confirm();
        }
    }
    all
}

pub fn answer(simulation: &mut Simulation, c: C) -> Vec<u8> {
    let until = simulation.now_us() + 1_000_000;
    collect(simulation, c, until)
        .into_iter()
        .next()
        .expect("one answer within 1 s")
        .1
}

pub fn control(simulation: &mut Simulation, request: UnitRequest) -> ControlResponse {
    simulation.write(C::UnitControl, &request.encode()).unwrap();
    ControlResponse::decode(&answer(simulation, C::UnitControl)).unwrap()
}

pub fn records(simulation: &mut Simulation, request: Request) -> Response {
    simulation.write(C::RecordAccess, &request.encode()).unwrap();
    Response::decode(&answer(simulation, C::RecordAccess)).unwrap()
}
