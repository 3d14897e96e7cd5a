//! Reads XML as a tree within bounds of depth, elements and bytes. All entities but XML's own five
//! and numbered characters are left out, so that nothing expands.

use crate::found::ImportError;
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

/// The deepest nesting; MusicXML needs about ten.
const DEEPEST: usize = 64;
/// The most elements. A note takes about three elements of those that are kept.
const MOST_ELEMENTS: usize = 400_000;

/// An element with its text and its children.
#[derive(Debug, Default)]
pub struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    text: String,
    elements: Vec<Element>,
    /// Where it starts in the document, in bytes.
    pub at: usize,
}

impl Element {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its own text, without spaces around it.
    pub fn text(&self) -> &str {
        self.text.trim()
    }

    /// An attribute's value.
    pub fn attribute(&self, name: &str) -> Option<&str> {
        let mut found = self.attributes.iter();
        found
            .find(|(n, _)| n == name)
            .map(|(_, value)| value.as_str())
    }

    /// Every child, in order.
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// The children of a name.
    pub fn children<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Element> {
        self.elements.iter().filter(move |e| e.name == name)
    }

    /// The first child of a name.
    pub fn child<'a>(&'a self, name: &'a str) -> Option<&'a Element> {
        self.children(name).next()
    }

    /// The whole number in the first child of a name.
    pub fn number<'a>(&'a self, name: &'a str) -> Option<i64> {
        number(self.child(name)?.text())
    }
}

/// A whole number; a fraction is cut off.
pub fn number(text: &str) -> Option<i64> {
    let whole = text.split('.').next().unwrap_or(text).trim();
    whole.parse().ok()
}

/// Reads a document, keeping the elements that `keep` names and those around them.
///
/// # Errors
/// The place at which the document is broken or goes beyond the bounds.
pub fn read(text: &str, keep: fn(&str) -> bool) -> Result<Element, ImportError> {
    let mut reader = Reader::from_str(text);
    let mut open: Vec<Element> = vec![Element::default()];
    let mut count = 0;
    loop {
        let at = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
        let event = reader.read_event().map_err(|error| ImportError::Xml {
            at: usize::try_from(reader.error_position()).unwrap_or(at),
            words: error.to_string(),
        })?;
        match event {
            Event::Start(start) => {
                count += 1;
                if open.len() > DEEPEST || count > MOST_ELEMENTS {
                    return Err(ImportError::TooLarge);
                }
                if keep(start.name().as_ref()) {
                    open.push(element(&start, at));
                } else {
                    reader
                        .read_to_end(start.name())
                        .map_err(|error| ImportError::Xml {
                            at,
                            words: error.to_string(),
                        })?;
                }
            }
            Event::Empty(start) => {
                count += 1;
                if count > MOST_ELEMENTS {
                    return Err(ImportError::TooLarge);
                }
                if keep(start.name().as_ref()) {
                    close(&mut open, element(&start, at));
                }
            }
            Event::End(_) => {
                if open.len() > 1
                    && let Some(done) = open.pop()
                {
                    close(&mut open, done);
                }
            }
            Event::Text(text) => say(&mut open, &text.xml10_content()),
            Event::CData(text) => say(&mut open, &text.xml10_content()),
            Event::GeneralRef(entity) => {
                let character = entity.resolve_char_ref().ok().flatten();
                let known = || match &*entity.xml10_content() {
                    "amp" => Some('&'),
                    "lt" => Some('<'),
                    "gt" => Some('>'),
                    "quot" => Some('"'),
                    "apos" => Some('\''),
                    _ => None,
                };
                if let Some(character) = character.or_else(known) {
                    say(&mut open, character.encode_utf8(&mut [0; 4]));
                }
            }
            Event::Eof => break,
            _ => {}
        }
    }
    if open.len() > 1 {
        return Err(ImportError::Xml {
            at: text.len(),
            words: "the document ends inside of an element".to_owned(),
        });
    }
    let root = open.pop().and_then(|mut document| document.elements.pop());
    root.ok_or(ImportError::Unknown)
}

fn close(open: &mut [Element], done: Element) {
    if let Some(parent) = open.last_mut() {
        parent.elements.push(done);
    }
}

fn say(open: &mut [Element], text: &str) {
    if let Some(element) = open.last_mut() {
        element.text.push_str(text);
    }
}

fn element(start: &BytesStart, at: usize) -> Element {
    let mut attributes = start.attributes();
    // To find a repeated name the reader would compare all names.
    attributes.with_checks(false);
    let attributes = attributes.flatten().map(|attribute| {
        let value = attribute.normalized_value(XmlVersion::Implicit1_0);
        let name = attribute.key.as_ref().to_owned();
        (name, value.map(|v| v.into_owned()).unwrap_or_default())
    });
    Element {
        name: start.name().as_ref().to_owned(),
        attributes: attributes.collect(),
        at,
        ..Element::default()
    }
}
