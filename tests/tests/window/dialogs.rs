//! Dialogs for files: where the desktop has none, and on a session bus of the test's own, with a
//! portal of its own (`org.freedesktop.portal.FileChooser`, XDG Desktop Portal).

use super::files::{OTHER, Page};
use super::on_a_screen_with;
use rustbus::connection::Timeout;
use rustbus::connection::ll_conn::force_finish_on_error;
use rustbus::message_builder::MarshalledMessage;
use rustbus::wire::unmarshal::traits::Variant;
use rustbus::{MessageBuilder, RpcConn, dbus_variant_sig, standard_messages};
use std::collections::HashMap;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;
use tempfile::TempDir;

/// Places in the editor at its first size, in pixels.
const OPEN: (i16, i16) = (46, 460);
const SAVE_MIDI: (i16, i16) = (143, 460);

/// The colour of what is wrong in the dark look.
const WRONG: [u8; 3] = [0xff, 0x85, 0x77];

/// A session bus that starts no service of the machine's (`dbus-daemon(1)`).
const CONFIGURATION: &str = r#"<!DOCTYPE busconfig PUBLIC
    "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
    "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>session</type>
  <listen>unix:tmpdir=/tmp</listen>
  <policy context="default">
    <allow send_destination="*" eavesdrop="true"/>
    <allow eavesdrop="true"/>
    <allow own="*"/>
  </policy>
</busconfig>
"#;

/// A session bus. It ends when this is dropped.
struct Bus {
    daemon: Child,
    address: String,
    _folder: TempDir,
}

impl Bus {
    fn start() -> Bus {
        let folder = tempfile::tempdir().unwrap();
        let configuration = folder.path().join("bus.conf");
        fs::write(&configuration, CONFIGURATION).unwrap();
        let mut daemon = Command::new("dbus-daemon")
            .args(["--nofork", "--print-address=1", "--config-file"])
            .arg(&configuration)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("a session bus: is dbus-daemon installed?");
        let mut address = String::new();
        let stdout = daemon.stdout.take().unwrap();
        BufReader::new(stdout).read_line(&mut address).unwrap();
        let address = address.trim().to_owned();
        assert!(!address.is_empty(), "the session bus has no address");
        Bus {
            daemon,
            address,
            _folder: folder,
        }
    }
}

impl Drop for Bus {
    fn drop(&mut self) {
        let _gone = self.daemon.kill();
        let _gone = self.daemon.wait();
    }
}

dbus_variant_sig!(Results, Uris => Vec<String>);

/// What the portal was asked for.
#[derive(Debug, PartialEq, Eq)]
struct Asked {
    method: String,
    title: String,
}

/// A portal that answers with a file, or keeps its dialog open for ever.
struct Portal {
    asked: mpsc::Receiver<Asked>,
}

fn send(bus: &mut RpcConn, message: &mut MarshalledMessage) -> u32 {
    let sent = bus.send_message(message).unwrap().write_all();
    sent.map_err(force_finish_on_error).unwrap()
}

impl Portal {
    fn start(answer: Option<PathBuf>) -> Portal {
        let mut bus = RpcConn::session_conn(Timeout::Infinite).unwrap();
        let mut name = standard_messages::request_name("org.freedesktop.portal.Desktop", 0);
        let named = send(&mut bus, &mut name);
        bus.wait_response(named, Timeout::Infinite).unwrap();
        let (tell, asked) = mpsc::channel();
        thread::spawn(move || {
            while let Ok(call) = bus.wait_call(Timeout::Infinite) {
                let method = call.dynheader.member.clone().unwrap_or_default();
                if method == "Get" {
                    let mut version = call.dynheader.make_response();
                    version.body.push_variant(4_u32).unwrap();
                    send(&mut bus, &mut version);
                    continue;
                }
                let mut body = call.body.parser();
                let (_, title, options) = body
                    .get3::<&str, &str, HashMap<&str, Variant>>()
                    .expect("the arguments of a file dialog");
                let token: &str = options["handle_token"].get().unwrap();
                let sender = call.dynheader.sender.clone().unwrap();
                let name = sender.trim_start_matches(':').replace('.', "_");
                let request = format!("/org/freedesktop/portal/desktop/request/{name}/{token}");
                let mut reply = call.dynheader.make_response();
                let path = rustbus::wire::ObjectPath::new(&request).unwrap();
                reply.body.push_param(path).unwrap();
                send(&mut bus, &mut reply);
                let title = title.to_owned();
                let _gone = tell.send(Asked { method, title });
                let Some(path) = &answer else { continue };
                // No person answers at once. An answer that comes with the reply to the call is
                // never heard (rfd 0.17.2).
                thread::sleep(Duration::from_millis(500));
                let uri = format!("file://{}", path.display());
                let results = HashMap::from([("uris", Results::Uris(vec![uri]))]);
                let interface = "org.freedesktop.portal.Request";
                let mut response = MessageBuilder::new()
                    .signal(interface, "Response", request.as_str())
                    .to(sender)
                    .build();
                response.body.push_param2(0_u32, &results).unwrap();
                send(&mut bus, &mut response);
            }
        });
        Portal { asked }
    }

    /// Waits until a dialog has been asked for.
    #[track_caller]
    fn expect(&self, method: &str, title: &str) {
        let asked = self.asked.recv_timeout(Duration::from_secs(60)).unwrap();
        let (method, title) = (method.to_owned(), title.to_owned());
        assert_eq!(asked, Asked { method, title });
    }
}

/// The page of files with the path of a chart in its line.
fn page() -> (Page, PathBuf) {
    Page::open("chart.txt", |path: &Path| fs::write(path, OTHER).unwrap())
}

#[test]
fn where_there_is_no_dialog_the_panel_says_so() {
    on_a_screen_with(
        "dialogs::ask_without_a_bus",
        &[("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nowhere/bus")],
    );
}

#[test]
#[ignore = "runs on a screen of its own"]
fn ask_without_a_bus() {
    let (mut page, _) = page();
    let before = page.look();
    assert!(!before.pixels.contains(&WRONG));
    page.click(OPEN);
    page.until("it says what is wrong", |page| {
        page.look().pixels.contains(&WRONG)
    });
    assert!(!page.holds(OTHER));
    // The typed path works on.
    page.import();
    assert!(page.holds(OTHER));
    page.close();
}

/// Runs an ignored test with a session bus of its own.
fn with_a_bus(test: &str) {
    let bus = Bus::start();
    on_a_screen_with(test, &[("DBUS_SESSION_BUS_ADDRESS", &bus.address)]);
}

#[test]
fn where_there_is_no_portal_the_panel_says_so() {
    with_a_bus("dialogs::ask_without_a_portal");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn ask_without_a_portal() {
    let (mut page, _) = page();
    page.click(OPEN);
    page.until("it says what is wrong", |page| {
        page.look().pixels.contains(&WRONG)
    });
    page.close();
}

#[test]
fn a_file_is_picked_in_the_desktop_s_dialog() {
    with_a_bus("dialogs::open_and_save");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn open_and_save() {
    let (mut page, path) = page();
    let portal = Portal::start(Some(path.clone()));
    page.click(OPEN);
    portal.expect("OpenFile", "Import a chart");
    page.until("the file that was picked is read", |page| page.holds(OTHER));
    // The file is there already, so it is not replaced without a question.
    page.click(SAVE_MIDI);
    portal.expect("SaveFile", "Export MIDI");
    page.until("the panel asks", |page| page.look().pixels.contains(&WRONG));
    assert_eq!(fs::read(&path).unwrap(), OTHER.as_bytes());
    fs::remove_file(&path).unwrap();
    page.click(SAVE_MIDI);
    portal.expect("SaveFile", "Export MIDI");
    page.until("the performance is written", |_| {
        fs::read(&path).is_ok_and(|bytes| bytes.starts_with(b"MThd"))
    });
    page.close();
}

#[test]
fn an_open_dialog_holds_up_no_host() {
    with_a_bus("dialogs::leave_a_dialog_open");
}

/// The dialog outlives its window, its plugin, and the test.
#[test]
#[ignore = "runs on a screen of its own"]
fn leave_a_dialog_open() {
    let portal = Portal::start(None);
    for _ in 0..2 {
        let (mut page, _) = page();
        page.click(OPEN);
        portal.expect("OpenFile", "Import a chart");
        // The panel works on.
        page.import();
        assert!(page.holds(OTHER));
        page.close();
    }
}
