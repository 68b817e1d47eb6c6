use super::*;

fn options() -> Options {
    Options {
        at: ([127, 0, 0, 1], 0).into(),
        any_port: false,
        permission: Permission::default(),
        tls: false,
    }
}

#[test]
fn the_link_says_where_and_shows_its_token_only_where_asked() {
    let share = Share::start(options()).unwrap();
    let link = share.link();
    assert!(link.url.starts_with("http://127.0.0.1:") && link.url.ends_with('/'));
    assert_eq!(link.url.len(), link.without_token().len() + 1 + 26 + 1);
    assert_eq!(link.for_code().to_lowercase(), link.url.to_lowercase());
    assert_eq!(link.fingerprint, None);
}

#[test]
fn a_port_in_use_is_an_error_only_where_it_was_asked_for() {
    let first = Share::start(options()).unwrap();
    let port = first
        .link()
        .url
        .split([':', '/'])
        .nth(4)
        .unwrap()
        .parse()
        .unwrap();
    let taken = Options {
        at: ([127, 0, 0, 1], port).into(),
        ..options()
    };
    assert!(matches!(Share::start(taken), Err(ShareError::Listen(..))));
    let other = Share::start(Options {
        any_port: true,
        ..taken
    });
    assert_ne!(other.unwrap().link().url, first.link().url);
}

#[test]
fn when_it_is_dropped_nobody_listens_any_more() {
    let share = Share::start(options()).unwrap();
    let address = share
        .link()
        .without_token()
        .trim_start_matches("http://")
        .to_owned();
    assert!(std::net::TcpStream::connect(&address).is_ok());
    drop(share);
    assert!(std::net::TcpStream::connect(&address).is_err());
}
