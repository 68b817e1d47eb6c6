//! Whether a request comes from our own page, under our own address.
//!
//! The token alone would do against strangers. These checks stand against other pages in the same browser: one that
//! had its name point at this computer (`Host`), or one that sends requests blindly (`Origin`).

use axum::http::header::{HOST, ORIGIN};
use axum::http::{HeaderMap, Method};
use std::net::{IpAddr, SocketAddr};

/// The addresses under which the page may be asked for.
#[derive(Clone, Debug)]
pub(super) struct Guard {
    scheme: &'static str,
    ips: Vec<IpAddr>,
    port: u16,
}

impl Guard {
    /// A guard for a server that listens on this address; `ips` are those of this computer.
    pub(super) fn new(tls: bool, bound: SocketAddr, ips: Vec<IpAddr>) -> Self {
        let ips = if bound.ip().is_unspecified() {
            ips
        } else {
            vec![bound.ip()]
        };
        Self {
            scheme: if tls { "https" } else { "http" },
            ips,
            port: bound.port(),
        }
    }

    /// Whether a request is ours.
    pub(super) fn accepts(&self, method: &Method, headers: &HeaderMap) -> bool {
        let text = |name| headers.get(name).and_then(|v| v.to_str().ok());
        if headers.get_all(HOST).iter().count() != 1 || !text(HOST).is_some_and(|host| self.is_own(host)) {
            return false;
        }
        let reads = matches!(*method, Method::GET | Method::HEAD);
        match headers.get(ORIGIN).map(|_| text(ORIGIN)) {
            // Browsers send it with everything that changes something.
            None => reads,
            Some(origin) => origin
                .and_then(|o| o.strip_prefix(self.scheme)?.strip_prefix("://"))
                .is_some_and(|host| self.is_own(host)),
        }
    }

    fn is_own(&self, host: &str) -> bool {
        let default = if self.scheme == "https" { 443 } else { 80 };
        let address = host.parse::<SocketAddr>().ok().map(|a| (a.ip(), a.port()));
        let bare = || {
            host.trim_matches(['[', ']'])
                .parse::<IpAddr>()
                .ok()
                .map(|ip| (ip, default))
        };
        match address.or_else(bare) {
            Some((ip, port)) => port == self.port && self.ips.contains(&ip),
            // The one name that needs no name service.
            None => {
                let own = |name: &str| *name == *"localhost" && self.ips.iter().any(IpAddr::is_loopback);
                match host.rsplit_once(':') {
                    Some((name, port)) => own(name) && port.parse() == Ok(self.port),
                    None => own(host) && self.port == default,
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(host: &str, origin: Option<&str>) -> HeaderMap {
        let mut map = HeaderMap::new();
        map.insert(HOST, host.parse().unwrap());
        if let Some(origin) = origin {
            map.insert(ORIGIN, origin.parse().unwrap());
        }
        map
    }

    fn guard(tls: bool, bound: &str) -> Guard {
        Guard::new(
            tls,
            bound.parse().unwrap(),
            vec![[10, 0, 0, 5].into(), [127, 0, 0, 1].into()],
        )
    }

    #[test]
    fn only_our_own_address_is_served() {
        let own = guard(false, "192.168.4.1:4780");
        let get = |host| own.accepts(&Method::GET, &headers(host, None));
        assert!(get("192.168.4.1:4780"));
        for wrong in [
            "192.168.4.1",
            "192.168.4.1:80",
            "10.0.0.5:4780",
            "roof.example:4780",
            "localhost:4780",
            "",
            ":",
        ] {
            assert!(!get(wrong), "{wrong}");
        }
        assert!(!own.accepts(&Method::GET, &HeaderMap::new()));
        let mut two = headers("192.168.4.1:4780", None);
        two.append(HOST, "192.168.4.1:4780".parse().unwrap());
        assert!(!own.accepts(&Method::GET, &two));
        assert!(guard(false, "192.168.4.1:80").accepts(&Method::GET, &headers("192.168.4.1", None)));
        let loopback = guard(false, "127.0.0.1:4780");
        assert!(loopback.accepts(&Method::GET, &headers("localhost:4780", None)));
        let every = guard(false, "0.0.0.0:4780");
        assert!(every.accepts(&Method::GET, &headers("10.0.0.5:4780", None)));
        assert!(!every.accepts(&Method::GET, &headers("10.0.0.6:4780", None)));
    }

    #[test]
    fn what_changes_something_must_come_from_our_page() {
        let own = guard(true, "192.168.4.1:4780");
        let post = |origin| own.accepts(&Method::POST, &headers("192.168.4.1:4780", origin));
        assert!(post(Some("https://192.168.4.1:4780")));
        for wrong in [
            None,
            Some("null"),
            Some("http://192.168.4.1:4780"),
            Some("https://192.168.4.1"),
            Some("https://evil.example"),
        ] {
            assert!(!post(wrong), "{wrong:?}");
        }
        let foreign = headers("192.168.4.1:4780", Some("https://evil.example"));
        assert!(!own.accepts(&Method::GET, &foreign));
    }
}
