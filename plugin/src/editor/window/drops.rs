//! Files that are dropped on the panel's window, on X11. The toolkit takes a drop and keeps it to
//! itself (egui-baseview 0.9.0), so the panel's window names another one in its place: a window
//! that is never shown, on a connection of its own (XDND, version 5, `XdndProxy`). On other systems
//! no file can be dropped. The waker's thread looks; `app` makes it.
//!
//! A drag is answered within a look. What was dropped is read from the source as a list of URIs
//! (RFC 2483, `text/uri-list`).

use crate::editor::window::parent;
use nice_plug_egui::baseview::WindowContext;
use percent_encoding::percent_decode_str;
use std::error::Error;
use std::ffi::OsString;
use std::os::unix::ffi::OsStringExt;
use std::path::PathBuf;
use x11rb::connection::Connection;
use x11rb::protocol::Event;
use x11rb::protocol::xproto::{
    AtomEnum, ClientMessageEvent, ConnectionExt as _, CreateWindowAux, EventMask, PropMode,
    SelectionNotifyEvent, Window, WindowClass,
};
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;
use x11rb::{COPY_DEPTH_FROM_PARENT, COPY_FROM_PARENT, NONE};

/// The version of the protocol.
const VERSION: u32 = 5;
/// The longest list that is read, in words of four bytes.
const LONGEST_LIST: u32 = 16_384;

x11rb::atom_manager! {
    /// The names of the protocol.
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
    }
}

/// Where files are dropped.
pub struct Drops {
    connection: RustConnection,
    atoms: Atoms,
    /// The panel's window.
    panel: Window,
    /// The one that stands in for it.
    stand_in: Window,
    drag: Option<Drag>,
}

/// A drag over the panel.
struct Drag {
    source: Window,
    /// It has files.
    has_files: bool,
    /// The player has let go, and its data is on the way.
    is_let_go: bool,
}

type Tried<T> = Result<T, Box<dyn Error>>;

impl Drops {
    /// The drops on a window; nothing if the server cannot be reached.
    #[must_use]
    pub fn on(window: &WindowContext) -> Option<Drops> {
        Drops::over(parent::number(window)?).ok()
    }

    fn over(panel: Window) -> Tried<Drops> {
        let (connection, screen) = x11rb::connect(None)?;
        let atoms = Atoms::new(&connection)?.reply()?;
        let root = connection.setup().roots.get(screen);
        let root = root.ok_or("no screen")?.root;
        let stand_in = connection.generate_id()?;
        connection.create_window(
            COPY_DEPTH_FROM_PARENT,
            stand_in,
            root,
            -1,
            -1,
            1,
            1,
            0,
            WindowClass::INPUT_ONLY,
            COPY_FROM_PARENT,
            &CreateWindowAux::new(),
        )?;
        let number = |window, name, kind, value: u32| {
            connection.change_property32(PropMode::REPLACE, window, name, kind, &[value])
        };
        number(stand_in, atoms.XdndAware, AtomEnum::ATOM, VERSION)?;
        number(stand_in, atoms.XdndProxy, AtomEnum::WINDOW, stand_in)?;
        number(panel, atoms.XdndProxy, AtomEnum::WINDOW, stand_in)?;
        connection.flush()?;
        Ok(Drops {
            connection,
            atoms,
            panel,
            stand_in,
            drag: None,
        })
    }

    /// Answers what has come since the last look, without waiting for more. Returns files that
    /// were dropped. A source that says nonsense, or that is gone, drops none.
    pub fn look(&mut self) -> Vec<PathBuf> {
        let mut dropped = Vec::new();
        while let Ok(Some(event)) = self.connection.poll_for_event() {
            if let Ok(paths) = self.hear(&event) {
                dropped.extend(paths);
            }
        }
        dropped
    }

    fn hear(&mut self, event: &Event) -> Tried<Vec<PathBuf>> {
        match event {
            Event::ClientMessage(message) if message.format == 32 => {
                self.hear_source(message)?;
                Ok(Vec::new())
            }
            Event::SelectionNotify(event) if event.requestor == self.stand_in => self.take(event),
            _ => Ok(Vec::new()),
        }
    }

    /// What the source of a drag tells.
    fn hear_source(&mut self, message: &ClientMessageEvent) -> Tried<()> {
        let data = message.data.as_data32();
        let [source, flags, kinds @ ..] = data;
        let has_files = self.drag.as_ref().is_some_and(|drag| drag.has_files);
        if message.type_ == self.atoms.XdndEnter {
            let has_more = flags & 1 == 1;
            let has_files = kinds.contains(&self.atoms.UriList)
                || has_more && self.kinds_of(source)?.contains(&self.atoms.UriList);
            self.drag = Some(Drag {
                source,
                has_files,
                is_let_go: false,
            });
        } else if self.drag.as_ref().is_none_or(|drag| drag.source != source) {
            // A drag that has not entered.
        } else if message.type_ == self.atoms.XdndPosition {
            let (accepts, action) = self.answer(has_files);
            self.tell(source, self.atoms.XdndStatus, [accepts, 0, 0, action])?;
        } else if message.type_ == self.atoms.XdndLeave {
            self.drag = None;
        } else if message.type_ == self.atoms.XdndDrop && has_files {
            let (selection, list) = (self.atoms.XdndSelection, self.atoms.UriList);
            let [time, ..] = kinds;
            self.connection
                .convert_selection(self.stand_in, selection, list, selection, time)?;
            self.connection.flush()?;
            self.drag = Some(Drag {
                source,
                has_files,
                is_let_go: true,
            });
        } else if message.type_ == self.atoms.XdndDrop {
            self.finish(source, false)?;
        }
        Ok(())
    }

    /// All kinds of data that a source has.
    fn kinds_of(&self, source: Window) -> Tried<Vec<u32>> {
        let list = self.atoms.XdndTypeList;
        let kinds = self
            .connection
            .get_property(false, source, list, AtomEnum::ATOM, 0, LONGEST_LIST)?
            .reply()?;
        Ok(kinds.value32().into_iter().flatten().collect())
    }

    /// The data of a drop is there.
    fn take(&mut self, event: &SelectionNotifyEvent) -> Tried<Vec<PathBuf>> {
        let Some(Drag { source, .. }) = self.drag.take_if(|drag| drag.is_let_go) else {
            return Ok(Vec::new());
        };
        let paths = self.list(event).unwrap_or_default();
        self.finish(source, !paths.is_empty())?;
        Ok(paths)
    }

    fn list(&self, event: &SelectionNotifyEvent) -> Tried<Vec<PathBuf>> {
        if event.property == NONE {
            return Err("the source has no data".into());
        }
        let (window, property, kind) = (self.stand_in, event.property, self.atoms.UriList);
        let list = self
            .connection
            .get_property(true, window, property, kind, 0, LONGEST_LIST)?
            .reply()?;
        Ok(paths(&String::from_utf8(list.value)?))
    }

    /// Yes, with what is done; or no.
    const fn answer(&self, accepts: bool) -> (u32, u32) {
        if accepts {
            (1, self.atoms.XdndActionCopy)
        } else {
            (0, NONE)
        }
    }

    /// Tells a source that its drop is over.
    fn finish(&mut self, source: Window, is_taken: bool) -> Tried<()> {
        self.drag = None;
        let (taken, action) = self.answer(is_taken);
        self.tell(source, self.atoms.XdndFinished, [taken, action, 0, 0])
    }

    /// Tells a source something about the panel's window.
    fn tell(&self, source: Window, what: u32, [a, b, c, d]: [u32; 4]) -> Tried<()> {
        let message = ClientMessageEvent::new(32, source, what, [self.panel, a, b, c, d]);
        self.connection
            .send_event(false, source, EventMask::NO_EVENT, message)?;
        Ok(self.connection.flush()?)
    }
}

/// The files of a list of URIs on this machine.
fn paths(list: &str) -> Vec<PathBuf> {
    let uris = list.lines().filter(|line| !line.starts_with('#'));
    let paths = uris.filter_map(|uri| {
        let rest = uri.trim().strip_prefix("file://")?;
        let path = rest.strip_prefix("localhost").unwrap_or(rest);
        // Another machine's files are not here.
        path.starts_with('/').then(|| {
            let bytes: Vec<u8> = percent_decode_str(path).collect();
            PathBuf::from(OsString::from_vec(bytes))
        })
    });
    paths.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::ffi::OsStrExt;

    #[test]
    fn a_list_names_files_of_this_machine() {
        let list = "# dragged\r\nfile:///tmp/a%20b.mid\r\nfile://localhost/tmp/c.mid\r\n\
                    file://elsewhere/tmp/d.mid\r\nhttps://example.org/e.mid\r\nf.mid\r\n";
        let expected = ["/tmp/a b.mid", "/tmp/c.mid"].map(PathBuf::from);
        assert_eq!(paths(list), expected);
        let [odd] = paths("file:///tmp/%ff%0a").try_into().unwrap();
        assert_eq!(odd.as_os_str().as_bytes(), b"/tmp/\xff\n");
        assert_eq!(paths(""), [] as [PathBuf; 0]);
    }
}
