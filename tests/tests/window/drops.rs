//! Files that are dropped on the window, from a source as the protocol describes it (XDND, version
//! 5, freedesktop.org).

use super::{on_a_screen, plugin, settled};
use guidehand_tests::Host;
use guidehand_tests::window::Window as Editor;
use std::fs;
use std::time::{Duration, Instant};
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    AtomEnum, ClientMessageEvent, ConnectionExt as _, CreateWindowAux, EventMask, PropMode,
    SELECTION_NOTIFY_EVENT, SelectionNotifyEvent, Window, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;
use x11rb::{COPY_DEPTH_FROM_PARENT, CURRENT_TIME};

/// The longest wait for an answer on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);
/// A chart that is not the first one.
const OTHER: &str = "| F6 | Bb6 |";

x11rb::atom_manager! {
    Atoms: AtomsCookie {
        XdndActionCopy,
        XdndAware,
        XdndDrop,
        XdndEnter,
        XdndFinished,
        XdndLeave,
        XdndPosition,
        XdndProxy,
        XdndSelection,
        XdndStatus,
        XdndTypeList,
        UriList: b"text/uri-list",
        Plain: b"text/plain",
    }
}

/// A program from which something is dragged.
struct Source {
    x11: RustConnection,
    atoms: Atoms,
    window: Window,
    /// The window under the pointer.
    target: Window,
    /// The one that answers in its place.
    proxy: Window,
}

impl Source {
    /// A source with the pointer over the editor.
    fn over_the_editor() -> Source {
        let (x11, screen) = x11rb::connect(None).unwrap();
        let root = x11.setup().roots[screen].root;
        let atoms = Atoms::new(&x11).unwrap().reply().unwrap();
        let window = x11.generate_id().unwrap();
        x11.create_window(
            COPY_DEPTH_FROM_PARENT,
            window,
            root,
            0,
            0,
            1,
            1,
            0,
            WindowClass::INPUT_OUTPUT,
            0,
            &CreateWindowAux::new(),
        )
        .unwrap();
        let owned = x11.set_selection_owner(window, atoms.XdndSelection, CURRENT_TIME);
        owned.unwrap().check().unwrap();
        let inner = |window: Window| {
            let tree = x11.query_tree(window).unwrap().reply().unwrap();
            tree.children
        };
        let named = |window: &Window| {
            let name = x11.get_property(false, *window, AtomEnum::WM_NAME, AtomEnum::ANY, 0, 64);
            name.unwrap().reply().unwrap().value == b"Guidehand"
        };
        let host = inner(root).into_iter().find(named).unwrap();
        let target = inner(host)[0];
        let number = |window, name, kind| {
            let value = x11.get_property(false, window, name, kind, 0, 1).unwrap();
            value.reply().unwrap().value32().unwrap().next().unwrap()
        };
        let proxy = number(target, atoms.XdndProxy, AtomEnum::WINDOW);
        let itself = number(proxy, atoms.XdndProxy, AtomEnum::WINDOW);
        assert_eq!(itself, proxy, "a proxy names itself");
        assert_eq!(number(proxy, atoms.XdndAware, AtomEnum::ATOM), 5);
        Source {
            x11,
            atoms,
            window,
            target,
            proxy,
        }
    }

    fn tell(&self, what: u32, [a, b, c, d]: [u32; 4]) {
        let message = ClientMessageEvent::new(32, self.target, what, [self.window, a, b, c, d]);
        let mask = EventMask::NO_EVENT;
        let sent = self.x11.send_event(false, self.proxy, mask, message);
        sent.unwrap().check().unwrap();
    }

    /// Waits for an answer of the editor's, and returns what it says. Hands out `data` meanwhile.
    fn answer(&self, what: u32, data: &[u8]) -> [u32; 5] {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            match self.x11.poll_for_event().unwrap() {
                Some(Event::ClientMessage(message)) if message.type_ == what => {
                    let said = message.data.as_data32();
                    assert_eq!(said[0], self.target, "the window that is named");
                    return said;
                }
                Some(Event::SelectionRequest(asked)) => {
                    assert_eq!(asked.target, self.atoms.UriList);
                    let (to, property) = (asked.requestor, asked.property);
                    let mode = PropMode::REPLACE;
                    let put = self
                        .x11
                        .change_property8(mode, to, property, asked.target, data);
                    put.unwrap().check().unwrap();
                    let there = SelectionNotifyEvent {
                        response_type: SELECTION_NOTIFY_EVENT,
                        sequence: 0,
                        time: asked.time,
                        requestor: to,
                        selection: asked.selection,
                        target: asked.target,
                        property,
                    };
                    let sent = self.x11.send_event(false, to, EventMask::NO_EVENT, there);
                    sent.unwrap().check().unwrap();
                }
                Some(_) => {}
                None => std::thread::sleep(Duration::from_millis(1)),
            }
        }
        panic!("no answer in {PATIENCE:?}");
    }

    /// Drags over the editor; returns whether it would take what comes.
    fn drag(&self, kinds: [u32; 3], has_more: bool) -> bool {
        let [first, second, third] = kinds;
        let flags = (5 << 24) | u32::from(has_more);
        self.tell(self.atoms.XdndEnter, [flags, first, second, third]);
        let copy = self.atoms.XdndActionCopy;
        self.tell(
            self.atoms.XdndPosition,
            [0, 0x0020_0020, CURRENT_TIME, copy],
        );
        let status = self.answer(self.atoms.XdndStatus, b"");
        status[1] & 1 == 1
    }

    /// Lets go; returns whether the editor has taken it.
    fn let_go(&self, data: &[u8]) -> bool {
        self.tell(self.atoms.XdndDrop, [0, CURRENT_TIME, 0, 0]);
        self.answer(self.atoms.XdndFinished, data)[1] & 1 == 1
    }
}

fn holds(host: &mut Host, chart: &str) -> bool {
    let state = host.save_state().unwrap();
    String::from_utf8_lossy(&state).contains(chart)
}

#[test]
fn a_file_that_is_dropped_is_read() {
    on_a_screen("drops::drop_files");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn drop_files() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("my chart.txt");
    fs::write(&path, OTHER).unwrap();
    let uri = format!("file://{}\r\n", path.display()).replace(' ', "%20");
    let mut host = plugin();
    let mut editor = Editor::open(&mut host, Duration::ZERO).unwrap();
    settled(&mut editor, &mut host);
    let source = Source::over_the_editor();
    let atoms = source.atoms;

    // What is no file is not taken, nor is a file that nobody has let go of.
    assert!(!source.drag([atoms.Plain, 0, 0], false));
    assert!(!source.let_go(b"| C6 |"));
    assert!(source.drag([atoms.Plain, atoms.UriList, 0], false));
    source.tell(atoms.XdndLeave, [0; 4]);
    // A list without files of this machine is refused.
    assert!(source.drag([atoms.UriList, 0, 0], false));
    assert!(!source.let_go(b"https://example.org/a.mid\r\n"));
    settled(&mut editor, &mut host);
    assert!(!holds(&mut host, OTHER));

    // The fourth kind of data is told in a property of the source.
    let kinds = [atoms.Plain, atoms.Plain, atoms.Plain, atoms.UriList];
    let mode = PropMode::REPLACE;
    let list = (atoms.XdndTypeList, AtomEnum::ATOM);
    let put = source
        .x11
        .change_property32(mode, source.window, list.0, list.1, &kinds);
    put.unwrap().check().unwrap();
    let before = editor.picture().unwrap();
    assert!(source.drag([atoms.Plain; 3], true));
    assert!(source.let_go(uri.as_bytes()));
    let after = settled(&mut editor, &mut host);
    assert!(holds(&mut host, OTHER), "what was dropped is not read");
    assert!(before != after, "the page of files does not open");
    editor.close(&mut host).unwrap();
}
