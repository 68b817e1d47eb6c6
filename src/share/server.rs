//! The server: a thread of its own with a runtime of its own, so that nothing that viewers do is felt by the reading
//! of values. It knows the last state and nothing else of the session.

use super::line::Line;
use super::routes::{Desk, router};
use axum::Router;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use socket2::SockRef;
use std::collections::BTreeMap;
use std::io;
use std::net::{IpAddr, SocketAddr, TcpListener};
use std::sync::{Arc, Mutex, PoisonError, mpsc};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::watch;
use tokio_rustls::TlsAcceptor;

/// Connections at once, in all and from one address.
const MOST: usize = 96;
const MOST_FROM_ONE: usize = 48;
/// What the system buffers towards one viewer, bytes: a few seconds of states, so that old ones are not delivered
/// long afterwards.
const SEND_BUFFER: usize = 32 * 1024;
/// A head of a request, and a handshake, must have come by then.
const HEAD_TIME: Duration = Duration::from_secs(10);
/// Between two looks at whether a connection is stuck.
const LOOK: Duration = Duration::from_secs(2);
/// At the end, viewers have this long to take the last state.
const FAREWELL: Duration = Duration::from_millis(300);

/// Binds before anything else happens, so that a failure can be told at once.
pub(super) fn bind(at: SocketAddr) -> io::Result<TcpListener> {
    let listener = TcpListener::bind(at)?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

/// Starts the thread.
pub(super) fn start(
    listener: TcpListener,
    tls: Option<TlsAcceptor>,
    desk: Arc<Desk>,
    stop: watch::Receiver<bool>,
) -> io::Result<JoinHandle<()>> {
    let (told, began) = mpsc::sync_channel(1);
    let thread = std::thread::Builder::new()
        .name("share".to_owned())
        .spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
            match runtime {
                Ok(runtime) => runtime.block_on(serve(listener, tls, desk, stop, &told)),
                // Whoever started it waits for this.
                Err(error) => drop(told.send(Err(error))),
            }
        })?;
    match began.recv() {
        Ok(outcome) => outcome.map(|()| thread),
        Err(_) => Err(io::Error::other("its thread ended")),
    }
}

/// Serves until `stop` says so or its sender is gone.
async fn serve(
    listener: TcpListener,
    tls: Option<TlsAcceptor>,
    desk: Arc<Desk>,
    mut stop: watch::Receiver<bool>,
    told: &mpsc::SyncSender<io::Result<()>>,
) {
    let listener = tokio::net::TcpListener::from_std(listener);
    // Whoever started it waits for this.
    let listener = match listener {
        Ok(listener) => {
            let _ = told.send(Ok(()));
            listener
        }
        Err(error) => return drop(told.send(Err(error))),
    };
    let router = router(desk);
    let count = Arc::new(Count::default());
    loop {
        let accepted = tokio::select! {
            _ = stop.changed() => break,
            accepted = listener.accept() => accepted,
        };
        let Ok((stream, peer)) = accepted else {
            // Too many open files, or a connection that is gone already: not a reason to end, nor to spin.
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let Some(place) = count.admit(peer.ip()) else {
            continue;
        };
        // Best effort: both only keep states from growing old on the way.
        let _ = SockRef::from(&stream).set_send_buffer_size(SEND_BUFFER);
        let _ = stream.set_nodelay(true);
        let (router, tls, stop) = (router.clone(), tls.clone(), stop.clone());
        tokio::spawn(async move {
            let _place = place;
            let line = Arc::new(Line::new(peer.ip(), Instant::now()));
            match tls {
                None => talk(stream, router, line, stop).await,
                Some(tls) => {
                    if let Ok(Ok(stream)) = tokio::time::timeout(HEAD_TIME, tls.accept(stream)).await {
                        talk(stream, router, line, stop).await;
                    }
                }
            }
        });
    }
    drop(listener);
    if !count.is_empty() {
        tokio::time::sleep(FAREWELL).await;
    }
}

/// One connection, until it ends, is stuck, or the session is over.
async fn talk(
    stream: impl AsyncRead + AsyncWrite + Unpin,
    router: Router,
    line: Arc<Line>,
    mut stop: watch::Receiver<bool>,
) {
    let inner = TowerToHyperService::new(router);
    let carried = Arc::clone(&line);
    let service = service_fn(move |mut request: hyper::Request<hyper::body::Incoming>| {
        request.extensions_mut().insert(Arc::clone(&carried));
        inner.call(request)
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME)
        .max_headers(40)
        .max_buf_size(16 * 1024)
        .serve_connection(TokioIo::new(stream), service);
    tokio::pin!(connection);
    let mut look = tokio::time::interval(LOOK);
    loop {
        tokio::select! {
            // Whoever is on the other side may break off at any time.
            _ = connection.as_mut() => return,
            _ = look.tick() => {
                if line.is_stuck(Instant::now()) {
                    return;
                }
            }
            _ = stop.changed() => {
                connection.as_mut().graceful_shutdown();
                let _ = tokio::time::timeout(FAREWELL, connection.as_mut()).await;
                return;
            }
        }
    }
}

/// Connections per address.
#[derive(Debug, Default)]
struct Count(Mutex<BTreeMap<IpAddr, usize>>);

/// One of them; given up when dropped.
struct Place {
    count: Arc<Count>,
    ip: IpAddr,
}

impl Count {
    fn is_empty(&self) -> bool {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).is_empty()
    }

    fn admit(self: &Arc<Self>, ip: IpAddr) -> Option<Place> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let own = open.get(&ip).copied().unwrap_or(0);
        if open.values().sum::<usize>() >= MOST || own >= MOST_FROM_ONE {
            return None;
        }
        open.insert(ip, own + 1);
        Some(Place {
            count: Arc::clone(self),
            ip,
        })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut open = self.count.0.lock().unwrap_or_else(PoisonError::into_inner);
        match open.get_mut(&self.ip) {
            Some(n) if *n > 1 => *n -= 1,
            _ => {
                open.remove(&self.ip);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn connections_are_limited_per_address_and_in_all() {
        let count = Arc::new(Count::default());
        let ip = |last: u8| IpAddr::from([192, 168, 4, last]);
        let mut places: Vec<Place> = (0..MOST_FROM_ONE).filter_map(|_| count.admit(ip(7))).collect();
        assert!(count.admit(ip(7)).is_none());
        places.extend((0..MOST_FROM_ONE).filter_map(|_| count.admit(ip(8))));
        assert_eq!(places.len(), MOST);
        assert!(count.admit(ip(9)).is_none());
        places.pop();
        assert!(count.admit(ip(9)).is_some());
        drop(places);
        assert!(count.0.lock().unwrap().is_empty());
    }
}
