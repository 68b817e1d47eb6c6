//! The simulated mount turns when the roof page says so. Session time is that of the simulator: it stands still while
//! a turn is awaited, so that the same turns give the same result as without a page.

use super::auto::{Next, Simulated};
use crate::aiming::{ASK, Outcome, Step};
use crate::cli::exit::Failure;
use crate::cli::roof::Roof;
use crate::cli::signals::Signals;
use crate::event::{Event, EventKind};
use crate::share::{Asked, Deed};

/// Events taken in before pages get their turn.
const BURST: usize = 256;

/// Aims at a simulated site as pages say, to the end or a signal.
pub(super) fn run(mut aim: Simulated<'_>, mut roof: Roof) -> Result<Option<Outcome>, Failure> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let signal = runtime.block_on(aim_with_page(&mut aim, &mut roof))?;
    roof.close(aim.fold());
    let outcome = aim.end()?;
    match signal {
        Some(number) => Err(Failure::Signal(number)),
        None => Ok(outcome),
    }
}

/// The signal that ended it, if one did.
async fn aim_with_page(aim: &mut Simulated<'_>, roof: &mut Roof) -> Result<Option<u8>, Failure> {
    let mut signals = Signals::listen()?;
    loop {
        for _ in 0..BURST {
            match aim.next() {
                Next::Goes => drop(aim.advance()),
                Next::Turn(_) => break,
                Next::Over => return Ok(None),
            }
        }
        let waits = matches!(aim.next(), Next::Turn(_));
        roof.news();
        let due = roof.due();
        tokio::select! {
            biased;
            number = signals.next() => return Ok(Some(number)),
            asked = roof.asked() => carry_out(aim, roof, asked),
            () = due => roof.publish(aim.fold(), aim.now()),
            () = std::future::ready(()), if !waits => {}
        }
        tokio::task::yield_now().await;
    }
}

fn carry_out(aim: &mut Simulated<'_>, roof: &mut Roof, asked: Asked) {
    let now = aim.now();
    let answer = Deed::of(asked.ask, aim.fold()).map(|deed| {
        let done = deed.done();
        match deed {
            Deed::Step(Step::Turned(mark)) => aim.turn(mark.bearing_deg.unwrap_or_default()),
            Deed::Step(step) => aim.push(step.event(now)),
            Deed::Mark(mark) => aim.push(Event {
                at: now,
                kind: EventKind::Mark(mark),
            }),
            Deed::AimSafe => {
                roof.aim_safe_asked(now);
                aim.request(ASK.request());
            }
        }
        done
    });
    // The page may have gone in the meantime; it asks again under the same number.
    let _ = asked.answer.send(answer);
}
