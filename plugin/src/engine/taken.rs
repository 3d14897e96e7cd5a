//! What the right hand has played over the chart, on its way to the panel: plain and `Copy`. Imports
//! nothing.

/// A bar of the chart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TakenBar {
    /// Its start, in ticks from the start of the chart.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
}

/// A key that has gone down and up.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TakenNote {
    /// The key.
    pub key: u8,
    /// The pass in which it went down.
    pub pass: u32,
    /// Where it went down, in ticks from the start of the chart.
    pub start_ticks: u32,
    /// The pass in which it went up.
    pub ended_pass: u32,
    /// Where it went up.
    pub end_ticks: u32,
    /// Where the off-beat eighth lay in its beat then: 0.5, or later where the rhythm swings.
    pub off_beat: f32,
    /// The bar in which it went down.
    pub bar: TakenBar,
}

/// What comes of a take, in the order of time. A note comes when its key goes up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Taken {
    /// The take of this number begins.
    Begun(u32),
    /// A note.
    Note(TakenNote),
    /// The place in the chart has changed: a loop has turned, the chart has started again, or the host
    /// has jumped. Passes in which no key was down are not told.
    Turned {
        /// The pass that begins.
        pass: u32,
        /// Where the pass before has ended, in ticks from the start of the chart.
        left_ticks: u32,
        /// Where this one begins.
        arrived_ticks: u32,
    },
}
