//! What the keys of the left hand have done at a sample. Imports nothing of the crate.

/// What the keys of the left hand have done, until all events of a sample are in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Gesture {
    /// Nothing.
    #[default]
    None,
    /// A root was struck.
    Struck,
    /// An extra key has joined the root.
    Joined,
    /// The gesture is over.
    Released,
}

impl Gesture {
    /// A key goes down, and begins a gesture or joins one.
    pub(super) fn press(&mut self, begins: bool) {
        *self = match self {
            _ if begins => Gesture::Struck,
            Gesture::Struck => Gesture::Struck,
            _ => Gesture::Joined,
        };
    }
}
