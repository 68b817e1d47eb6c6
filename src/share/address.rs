//! Where to listen: as told, or on the address of the local network.

use if_addrs::{IfAddr, Interface};
use std::fmt;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::str::FromStr;

/// Port where none is named; our choice. Free ports are taken instead where it is in use.
pub const DEFAULT_PORT: u16 = 4780;

/// `ADDR:PORT` of `--share`, both optional.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// Address; `None`: that of the local network.
    pub ip: Option<IpAddr>,
    /// Port; `None`: [`DEFAULT_PORT`].
    pub port: Option<u16>,
}

impl FromStr for Place {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if let Ok(all) = text.parse::<SocketAddr>() {
            return Ok(Self {
                ip: Some(all.ip()),
                port: Some(all.port()),
            });
        }
        if let Ok(ip) = text.trim_matches(['[', ']']).parse::<IpAddr>() {
            return Ok(Self {
                ip: Some(ip),
                port: None,
            });
        }
        match text.strip_prefix(':').map(str::parse) {
            Some(Ok(port)) => Ok(Self {
                ip: None,
                port: Some(port),
            }),
            _ => Err(format!(
                "`{text}` is no address: give one of this computer's, such as 192.168.4.1:4780, 192.168.4.1 or :4780"
            )),
        }
    }
}

/// An address of this computer that others on the local network can reach.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Local {
    /// The address.
    pub ip: IpAddr,
    /// Name of the interface that has it.
    pub interface: String,
}

impl fmt::Display for Local {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.ip, self.interface)
    }
}

/// No address to share on.
#[derive(Debug, thiserror::Error)]
pub enum NoAddress {
    /// The interfaces cannot be listed.
    #[error("share: list the addresses of this computer: {0}; give one with --share ADDR:PORT")]
    List(#[source] std::io::Error),
    /// There is none of a private network.
    #[error(
        "share: this computer is on no private network; switch on its hotspot or join the phone's network, or give an \
         address with --share ADDR:PORT"
    )]
    None,
}

/// Private addresses of this computer, the one that the default route uses first.
///
/// # Errors
/// When there is none.
pub fn private() -> Result<Vec<Local>, NoAddress> {
    let interfaces = if_addrs::get_if_addrs().map_err(NoAddress::List)?;
    let found = ranked(&interfaces, routed());
    if found.is_empty() {
        return Err(NoAddress::None);
    }
    Ok(found)
}

/// Every address of this computer.
pub(super) fn all() -> Vec<IpAddr> {
    let interfaces = if_addrs::get_if_addrs().unwrap_or_default();
    interfaces.iter().map(Interface::ip).collect()
}

/// Only IPv4: link-local IPv6 addresses do not work as links in browsers.
fn ranked(interfaces: &[Interface], routed: Option<IpAddr>) -> Vec<Local> {
    let mut found: Vec<Local> = interfaces
        .iter()
        .filter(|i| matches!(&i.addr, IfAddr::V4(v4) if v4.ip.is_private()))
        .map(|i| Local {
            ip: i.ip(),
            interface: i.name.clone(),
        })
        .collect();
    // Bridges of containers and virtual machines have private addresses too; the network that leads outside is the
    // likelier one to have the phone on it, and a hotspot has no such route but stands alone.
    found.sort_by_key(|l| {
        (
            Some(l.ip) != routed,
            is_virtual(&l.interface),
            l.interface.clone(),
        )
    });
    found
}

/// Names that container and virtual machine software gives its own networks.
fn is_virtual(interface: &str) -> bool {
    [
        "docker", "veth", "virbr", "br-", "vmnet", "vboxnet", "tun", "tap", "wg",
    ]
    .iter()
    .any(|prefix| interface.starts_with(prefix))
}

/// The address that a packet to the outside would have. Nothing is sent: connecting a datagram socket only asks the
/// routing table. The target belongs to no one (RFC 5737).
fn routed() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    Some(socket.local_addr().ok()?.ip())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn interface(name: &str, ip: [u8; 4]) -> Interface {
        Interface {
            name: name.into(),
            addr: IfAddr::V4(if_addrs::Ifv4Addr {
                ip: ip.into(),
                netmask: Ipv4Addr::new(255, 255, 255, 0),
                prefixlen: 24,
                broadcast: None,
            }),
            index: None,
            oper_status: if_addrs::IfOperStatus::Up,
            is_p2p: false,
            #[cfg(windows)]
            adapter_name: String::new(),
        }
    }

    #[test]
    fn a_place_is_read_as_people_write_it() {
        let place = |ip: Option<&str>, port| {
            Ok(Place {
                ip: ip.map(|t| t.parse().unwrap()),
                port,
            })
        };
        assert_eq!("192.168.4.1:80".parse(), place(Some("192.168.4.1"), Some(80)));
        assert_eq!("10.0.0.7".parse(), place(Some("10.0.0.7"), None));
        assert_eq!(":0".parse(), place(None, Some(0)));
        assert_eq!("[::1]:4780".parse(), place(Some("::1"), Some(4780)));
        assert_eq!("::1".parse(), place(Some("::1"), None));
        for wrong in ["", ":", "roof", "roof:80", "1.2.3", ":70000", "1.2.3.4:"] {
            assert!(wrong.parse::<Place>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn the_network_that_leads_outside_comes_first_and_public_addresses_never_come() {
        let all = [
            interface("docker0", [172, 17, 0, 1]),
            interface("lo", [127, 0, 0, 1]),
            interface("wan0", [198, 51, 100, 7]),
            interface("wlan0", [192, 168, 4, 1]),
            interface("eth0", [10, 0, 0, 5]),
        ];
        let names = |routed: Option<[u8; 4]>| -> Vec<String> {
            ranked(&all, routed.map(IpAddr::from))
                .into_iter()
                .map(|l| l.interface)
                .collect()
        };
        assert_eq!(names(Some([192, 168, 4, 1])), ["wlan0", "eth0", "docker0"]);
        assert_eq!(names(None), ["eth0", "wlan0", "docker0"]);
        assert_eq!(names(Some([198, 51, 100, 7])), ["eth0", "wlan0", "docker0"]);
    }
}
