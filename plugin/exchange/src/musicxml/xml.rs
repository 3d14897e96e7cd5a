//! Writes XML elements. Imports nothing of the crate.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

/// The public name of the document type.
const DOCTYPE: &str = "score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \
                       \"http://www.musicxml.org/dtds/partwise.dtd\"";

/// A document that is being written.
pub struct Out {
    writer: Writer<Vec<u8>>,
}

impl Out {
    /// Starts a document with its head.
    pub fn new() -> Out {
        let mut out = Out {
            writer: Writer::new_with_indent(Vec::new(), b' ', 1),
        };
        out.put(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        out.put(Event::DocType(BytesText::from_escaped(DOCTYPE)));
        out
    }

    fn put(&mut self, event: Event) {
        let written = self.writer.write_event(event);
        debug_assert!(written.is_ok(), "a vector takes every byte");
    }

    /// Opens an element.
    pub fn open(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.put(Event::Start(start(name, attributes)));
    }

    /// Closes the element that was opened last, by its name.
    pub fn close(&mut self, name: &str) {
        self.put(Event::End(BytesEnd::new(name)));
    }

    /// Writes an element without content.
    pub fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.put(Event::Empty(start(name, attributes)));
    }

    /// Writes an element with a text.
    pub fn leaf(&mut self, name: &str, text: &str) {
        self.leaf_with(name, &[], text);
    }

    /// Writes an element with attributes and a text.
    pub fn leaf_with(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) {
        self.open(name, attributes);
        self.put(Event::Text(BytesText::new(&sayable(text))));
        self.close(name);
    }

    /// The document's text.
    pub fn finish(self) -> String {
        let mut bytes = self.writer.into_inner();
        bytes.push(b'\n');
        String::from_utf8_lossy(&bytes).into_owned()
    }
}

/// A text without the characters that have no form in XML 1.0: control characters and two others.
pub fn sayable(text: &str) -> String {
    let has_form = |c: &char| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}');
    text.chars().filter(has_form).collect()
}

fn start<'a>(name: &'a str, attributes: &[(&str, &str)]) -> BytesStart<'a> {
    BytesStart::new(name).with_attributes(attributes.iter().copied())
}
