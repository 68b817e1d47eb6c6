//! The roof page as others on the network meet it: who gets in, what it costs the reading, what is left behind.

// A failed assumption should stop the test.
#![allow(clippy::expect_used, clippy::panic)]

mod common;

use common::{assert_accounts_add_up, json_lines, program};
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// A hang must end; nothing is asserted about how long an answer takes.
const PATIENCE: Duration = Duration::from_secs(60);

/// A simulated unit that is watched, with its page.
struct Shared {
    child: Child,
    address: SocketAddr,
    token: String,
    /// Its output so far; read all along, or it would wait for its reader.
    output: JoinHandle<String>,
    readings: Receiver<()>,
}

impl Shared {
    fn start(arguments: &[&str]) -> Self {
        let all = [
            &["watch", "--from", "sim", "--json", "--share", "127.0.0.1:0"],
            arguments,
        ]
        .concat();
        let mut child = program(&all)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut said = BufReader::new(child.stderr.take().expect("its complaints"));
        let link = loop {
            let mut line = String::new();
            assert_ne!(
                said.read_line(&mut line).expect("a line"),
                0,
                "it ended without a link"
            );
            if let Some((_, link)) = line.trim_end().split_once("roof page: http://") {
                break link.to_owned();
            }
        };
        // What else it says is not read: a few lines fit into the pipe.
        std::mem::forget(said);
        let (tell, readings) = channel();
        let out = BufReader::new(child.stdout.take().expect("its output"));
        let output = std::thread::spawn(move || {
            let mut text = String::new();
            for line in out.lines().map_while(Result::ok) {
                if line.starts_with(r#"{"type":"reading""#) {
                    let _ = tell.send(());
                }
                text.push_str(&line);
                text.push('\n');
            }
            text
        });
        let mut parts = link.split('/');
        Self {
            child,
            address: parts.next().expect("an address").parse().expect("an address"),
            token: parts.next().expect("a token").to_owned(),
            output,
            readings,
        }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).expect("a patience");
        stream
    }

    /// One request; the whole answer, head and body.
    fn ask(&self, request: &str) -> String {
        let mut stream = self.connect();
        stream.write_all(request.as_bytes()).expect("it takes a request");
        let mut answer = String::new();
        // A connection that is cut is an answer too.
        let _ = stream.read_to_string(&mut answer);
        answer
    }

    fn get(&self, path: &str) -> String {
        self.ask(&format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.address
        ))
    }

    fn page(&self, name: &str) -> String {
        self.get(&format!("/{}/{name}", self.token))
    }

    fn post(&self, origin: &str, body: &str) -> String {
        self.ask(&format!(
            "POST /{}/step HTTP/1.1\r\nHost: {}\r\nOrigin: {origin}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.token,
            self.address,
            body.len()
        ))
    }

    /// Asks for the stream of states.
    fn watch(&self) -> BufReader<TcpStream> {
        let mut stream = self.connect();
        let request = format!(
            "GET /{}/events HTTP/1.1\r\nHost: {}\r\n\r\n",
            self.token, self.address
        );
        stream.write_all(request.as_bytes()).expect("it takes a request");
        BufReader::new(stream)
    }

    /// Its output, once it has ended.
    fn output(mut self) -> Vec<Value> {
        let text = self.output.join().expect("its output");
        assert!(self.child.wait().expect("its end").success());
        json_lines(&text)
    }
}

fn status(answer: &str) -> &str {
    answer.split(' ').nth(1).unwrap_or("none")
}

#[test]
fn the_page_is_there_for_who_has_the_link_and_for_nobody_else() {
    let shared = Shared::start(&["--for", "1h"]);
    let page = shared.page("");
    assert_eq!(status(&page), "200");
    for part in [
        "content-security-policy: default-src 'none';",
        "referrer-policy: no-referrer",
        "cache-control: no-store",
        "x-content-type-options: nosniff",
    ] {
        assert!(page.contains(part), "{part} in {page}");
    }
    assert!(!page.to_lowercase().contains("set-cookie") && !page.contains(&shared.token));
    assert_eq!(status(&shared.page("main.js")), "200");
    assert_eq!(status(&shared.page("../main.js")), "404");
    assert_eq!(status(&shared.page("other.js")), "404");
    for path in ["/", "/main.js", "/0123456789ABCDEFGHJKMNPQRS/", "/%00/"] {
        let refused = shared.get(path);
        assert_eq!(status(&refused), "404", "{path}");
        assert!(!refused.contains("Loopmargin") && !refused.contains(&shared.token));
    }
    let host = |name: &str| {
        format!(
            "GET /{}/ HTTP/1.1\r\nHost: {name}\r\nConnection: close\r\n\r\n",
            shared.token
        )
    };
    assert_eq!(status(&shared.ask(&host("evil.example"))), "404");
    assert_eq!(
        status(&shared.ask("GET / HTTP/1.1\r\nConnection: close\r\n\r\n")),
        "404"
    );
    let own = format!("http://{}", shared.address);
    assert_eq!(status(&shared.post("http://evil.example", "{}")), "404");
    assert_eq!(status(&shared.post(&own, "{}")), "400");
    assert_eq!(status(&shared.post(&own, &"x".repeat(5_000))), "413");
    // Looking is all that was allowed.
    assert_eq!(
        status(&shared.post(&own, r#"{"id":"1","ask":{"do":"mark"}}"#)),
        "403"
    );
    end(shared);
}

#[test]
fn a_mark_from_the_page_goes_through_the_session_once() {
    let shared = Shared::start(&["--share-aim", "--for", "4s"]);
    let own = format!("http://{}", shared.address);
    let walk =
        r#"{"id":"a7","ask":{"do":"walk","room":"archive","before":false,"level_dbm":-97.5,"call_ok":true}}"#;
    let first = shared.post(&own, walk);
    assert_eq!(status(&first), "200", "{first}");
    // The answer may have been lost: the page asks again under the same number.
    assert_eq!(shared.post(&own, walk).lines().last(), first.lines().last());
    assert_eq!(
        status(&shared.post(&own, r#"{"id":"a8","ask":{"do":"undo"}}"#)),
        "409"
    );
    assert_eq!(
        status(&shared.post(&own, r#"{"id":"a9","ask":{"do":"aim-safe"}}"#)),
        "403"
    );
    let lines = shared.output();
    let marks: Vec<&Value> = lines.iter().filter(|l| l["type"] == "mark").collect();
    assert_eq!(marks.len(), 1);
    assert_eq!(
        (&marks[0]["room"], &marks[0]["stage"]),
        (&"archive".into(), &"after".into())
    );
}

#[test]
fn twenty_viewers_and_a_storm_of_requests_cost_no_reading() {
    const VIEWERS: usize = 20;
    const STORMERS: usize = 8;
    const EACH: usize = 3_000;
    let shared = Shared::start(&["--for", "12s"]);
    let request = format!(
        "GET /{}/dom.js HTTP/1.1\r\nHost: {}\r\n\r\n",
        shared.token, shared.address
    );
    let address = shared.address;
    let viewers: Vec<_> = (0..VIEWERS).map(|_| shared.watch()).collect();
    let states = |viewer: BufReader<TcpStream>| {
        viewer
            .lines()
            .map_while(Result::ok)
            .filter(|l| l.starts_with("data: "))
    };
    let (answers, seconds, seen) = std::thread::scope(|scope| {
        let watching: Vec<_> = viewers
            .into_iter()
            .map(|viewer| {
                scope.spawn(move || states(viewer).fold((0, false), |(n, _), l| (n + 1, l.contains(ENDED))))
            })
            .collect();
        let began = Instant::now();
        let storm: Vec<_> = (0..STORMERS)
            .map(|_| scope.spawn(|| flood(address, &request, EACH)))
            .collect();
        let answers: usize = storm.into_iter().map(|t| t.join().expect("a stormer")).sum();
        let seconds = began.elapsed().as_secs_f64();
        let seen: Vec<(usize, bool)> = watching
            .into_iter()
            .map(|t| t.join().expect("a viewer"))
            .collect();
        (answers, seconds, seen)
    });
    assert_eq!(answers, STORMERS * EACH);
    for (states, ended) in &seen {
        assert!(
            *ended && *states > 1,
            "a viewer saw {states} states, the end: {ended}"
        );
    }
    let lines = shared.output();
    let summary = lines.last().expect("a summary");
    assert_accounts_add_up(summary);
    assert_eq!(summary["readings"], summary["expected"], "{summary}");
    eprintln!(
        "{answers} requests at {:.0}/s, {:?} states to each of {VIEWERS} viewers, {} readings, latency {}",
        answers as f64 / seconds,
        seen.iter().map(|s| s.0).min(),
        summary["readings"],
        summary["latency_us"]
    );
}

/// What the last state says.
const ENDED: &str = r#""ended":true"#;

/// Sends a request again and again without waiting for the answers; how many came.
fn flood(address: SocketAddr, request: &str, times: usize) -> usize {
    let mut stream = TcpStream::connect(address).expect("a connection");
    stream.set_read_timeout(Some(PATIENCE)).expect("a patience");
    let answers = stream.try_clone().expect("both ways");
    let mut answers = BufReader::new(answers);
    std::thread::scope(|scope| {
        scope.spawn(move || (0..times).all(|_| stream.write_all(request.as_bytes()).is_ok()));
        let mut heads = 0;
        let mut line = Vec::new();
        while heads < times && answers.read_until(b'\n', &mut line).is_ok_and(|n| n > 0) {
            heads += usize::from(line.windows(9).any(|w| w == b"HTTP/1.1 "));
            line.clear();
        }
        heads
    })
}

/// Stops it and sees that nobody listens any more.
fn end(mut shared: Shared) {
    shared.child.kill().expect("it runs");
    shared.child.wait().expect("its end");
    assert!(TcpStream::connect(shared.address).is_err());
}

/// Addresses on which a process listens, as the kernel tells.
#[cfg(target_os = "linux")]
fn listening(pid: u32) -> Vec<String> {
    let sockets: Vec<String> = std::fs::read_dir(format!("/proc/{pid}/fd"))
        .expect("its files")
        .filter_map(|f| Some(std::fs::read_link(f.ok()?.path()).ok()?.display().to_string()))
        .filter_map(|f| Some(f.strip_prefix("socket:[")?.strip_suffix(']')?.to_owned()))
        .collect();
    let tables =
        ["tcp", "tcp6", "udp", "udp6"].map(|t| std::fs::read_to_string(format!("/proc/{pid}/net/{t}")));
    let rows: Vec<String> = tables
        .into_iter()
        .flat_map(|t| {
            t.unwrap_or_default()
                .lines()
                .skip(1)
                .map(str::to_owned)
                .collect::<Vec<_>>()
        })
        .collect();
    rows.iter()
        .map(|row| row.split_whitespace().collect::<Vec<_>>())
        // 0A: listening; 07: an unconnected datagram socket.
        .filter(|row| matches!(row[3], "0A" | "07") && sockets.iter().any(|s| s == row[9]))
        .map(|row| row[1].to_owned())
        .collect()
}

#[cfg(target_os = "linux")]
#[test]
fn nothing_listens_unless_it_was_asked_to_share() {
    let mut alone = program(&["watch", "--from", "sim", "--json", "--for", "1h"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut lines = BufReader::new(alone.stdout.take().expect("its output")).lines();
    // Readings come: all that will be opened is open.
    assert!(lines.any(|l| l.is_ok_and(|l| l.starts_with(r#"{"type":"reading""#))));
    assert_eq!(listening(alone.id()), Vec::<String>::new());
    alone.kill().expect("it runs");
    alone.wait().expect("its end");

    let shared = Shared::start(&["--for", "1h"]);
    shared.readings.recv().expect("a reading");
    let own = format!("0100007F:{:04X}", shared.address.port());
    assert_eq!(listening(shared.child.id()), [own]);
    end(shared);
}
