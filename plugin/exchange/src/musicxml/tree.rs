//! Reads XML as a tree within bounds of depth, elements and bytes. All entities but XML's own
//! five and numbered characters are left out, so that nothing expands. Imports `found`'s
//! errors.

use crate::found::ImportError;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

/// The deepest nesting. MusicXML needs about ten levels.
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
    let mut tree = Tree::new();
    loop {
        let at = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
        let event = reader.read_event().map_err(|error| {
            let at = usize::try_from(reader.error_position()).unwrap_or(at);
            broken(at, &error)
        })?;
        match event {
            Event::Start(start) => {
                tree.count_element()?;
                if tree.open.len() > DEEPEST {
                    return Err(ImportError::TooLarge);
                }
                if keep(start.name().as_ref()) {
                    tree.open.push(element(&start, at));
                } else {
                    let skipped = reader.read_to_end(start.name());
                    skipped.map_err(|error| broken(at, &error))?;
                }
            }
            Event::Empty(start) => {
                tree.count_element()?;
                if keep(start.name().as_ref()) {
                    tree.add(element(&start, at));
                }
            }
            Event::End(_) => tree.close(),
            Event::Text(text) => tree.add_text(&text.xml10_content()),
            Event::CData(text) => tree.add_text(&text.xml10_content()),
            Event::GeneralRef(entity) => {
                if let Some(character) = character(&entity) {
                    tree.add_text(character.encode_utf8(&mut [0; 4]));
                }
            }
            Event::Eof => return tree.finish(text.len()),
            _ => {}
        }
    }
}

fn broken(at: usize, error: &quick_xml::Error) -> ImportError {
    ImportError::Xml {
        at,
        words: error.to_string(),
    }
}

/// The character that an entity stands for: a numbered one, or one of XML's own five.
fn character(entity: &BytesRef) -> Option<char> {
    let known = || match &*entity.xml10_content() {
        "amp" => Some('&'),
        "lt" => Some('<'),
        "gt" => Some('>'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => None,
    };
    let numbered = entity.resolve_char_ref().ok().flatten();
    numbered.or_else(known)
}

/// The part of the tree that has been read.
struct Tree {
    /// The elements that are open, the document itself first.
    open: Vec<Element>,
    /// The number of elements so far.
    count: usize,
}

impl Tree {
    fn new() -> Tree {
        Tree {
            open: vec![Element::default()],
            count: 0,
        }
    }

    fn count_element(&mut self) -> Result<(), ImportError> {
        self.count += 1;
        if self.count > MOST_ELEMENTS {
            return Err(ImportError::TooLarge);
        }
        Ok(())
    }

    /// Adds a whole element to the one that is open.
    fn add(&mut self, element: Element) {
        if let Some(parent) = self.open.last_mut() {
            parent.elements.push(element);
        }
    }

    fn add_text(&mut self, text: &str) {
        if let Some(element) = self.open.last_mut() {
            element.text.push_str(text);
        }
    }

    fn close(&mut self) {
        if self.open.len() > 1
            && let Some(done) = self.open.pop()
        {
            self.add(done);
        }
    }

    /// The root element, at the end of a document of this length in bytes.
    fn finish(mut self, length: usize) -> Result<Element, ImportError> {
        if self.open.len() > 1 {
            return Err(ImportError::Xml {
                at: length,
                words: "the document ends inside of an element".to_owned(),
            });
        }
        let root = self.open.pop();
        let root = root.and_then(|mut document| document.elements.pop());
        root.ok_or(ImportError::Unknown)
    }
}

fn element(start: &BytesStart, at: usize) -> Element {
    let mut attributes = start.attributes();
    // The reader would compare all names to find a repeated one.
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A reader that looks for repeated names compares each name with all others. It would drop
    /// the second one here, and take minutes over many attributes.
    #[test]
    fn names_of_attributes_are_not_compared() {
        let root = read("<note x=\"1\" x=\"2\"/>", |_| true).unwrap();
        assert_eq!(root.attributes.len(), 2);
    }
}
