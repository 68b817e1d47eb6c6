//! A private bus, and a process of its own for each test.

use std::env;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

const ADDRESS: &str = "DBUS_SYSTEM_BUS_ADDRESS";
const FOLDER: &str = "LOOPMARGIN_TEST_BUS";

const CONFIGURATION: &str = r#"<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>system</type>
  <listen>unix:path=FOLDER/socket</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow user="*"/>
    <allow own="*"/>
    <allow send_destination="*"/>
    <allow receive_sender="*"/>
  </policy>
</busconfig>
"#;

/// The bus of this test; ended with it.
pub struct Bus {
    folder: PathBuf,
    daemon: Option<Child>,
}

impl Bus {
    fn start(folder: &Path) -> Option<Self> {
        std::fs::write(
            folder.join("bus.conf"),
            CONFIGURATION.replace("FOLDER", &folder.to_string_lossy()),
        )
        .expect("write bus.conf");
        let mut bus = Bus {
            folder: folder.to_owned(),
            daemon: None,
        };
        bus.revive().then_some(bus)
    }

    /// Starts the daemon, again at the same address.
    pub fn revive(&mut self) -> bool {
        let configuration = format!("--config-file={}/bus.conf", self.folder.display());
        let daemon = Command::new("dbus-daemon")
            .args([&configuration, "--nofork", "--print-address"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn();
        let Ok(mut daemon) = daemon else { return false };
        // It prints its address once it listens.
        let mut first = [0; 1];
        let mut output = daemon.stdout.take().expect("its output");
        output.read_exact(&mut first).expect("dbus-daemon to listen");
        self.daemon = Some(daemon);
        true
    }

    /// Kills the daemon, as a crash would.
    pub fn kill(&mut self) {
        if let Some(mut daemon) = self.daemon.take() {
            daemon.kill().expect("kill dbus-daemon");
            daemon.wait().expect("wait for dbus-daemon");
        }
        // A socket that nobody listens on would be refused, not absent; a crash leaves it behind.
        let _ = std::fs::remove_file(self.folder.join("socket"));
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        self.kill();
    }
}

/// Runs a test in a process of its own, with a private bus. `test` is its full name.
pub fn with_bus(test: &str, body: impl AsyncFnOnce(&mut Bus)) {
    if let Ok(folder) = env::var(FOLDER) {
        let mut bus = Bus::start(Path::new(&folder)).expect("dbus-daemon");
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()
            .expect("a runtime");
        runtime.block_on(body(&mut bus));
        return;
    }
    if Command::new("dbus-daemon")
        .arg("--version")
        .stdout(Stdio::null())
        .status()
        .is_err()
    {
        println!("skipped: no dbus-daemon on this computer (Debian package dbus-daemon)");
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let status = Command::new(env::current_exe().expect("this program"))
        .args(["--exact", test, "--nocapture"])
        .env(FOLDER, folder.path())
        .env(ADDRESS, format!("unix:path={}/socket", folder.path().display()))
        .env_remove("LOOPMARGIN_ADAPTER")
        .status()
        .expect("run the test again");
    assert!(status.success(), "{test} failed, see above");
}
