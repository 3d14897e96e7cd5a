//! The ways in which a host passes the audio of one direction, some of them rude. Imports nothing of
//! this crate.

/// How a host passes its buses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Passing {
    /// Every bus; an inactive one without channels.
    #[default]
    Whole,
    /// Every bus, and null for the address of each channel.
    NullChannels,
    /// Every bus, and null for the address of its second channel.
    NullSecondChannel,
    /// Every bus with its number of channels, and null for the list of them.
    NullLists,
    /// Every bus with only its first channel.
    FirstChannel,
    /// Every bus with a channel more than it has, and a bus more.
    TooMuch,
    /// Every bus without channels.
    NoChannels,
    /// All buses but the last. What lies behind them is no bus.
    OneLess,
    /// A number of channels below zero, and a list of them.
    NegativeChannels,
    /// No list of buses, but their number.
    NullBuses,
    /// No list of buses.
    Nothing,
}

impl Passing {
    /// All of them.
    pub const ALL: [Self; 11] = [
        Self::Whole,
        Self::NullChannels,
        Self::NullSecondChannel,
        Self::NullLists,
        Self::FirstChannel,
        Self::TooMuch,
        Self::NoChannels,
        Self::OneLess,
        Self::NegativeChannels,
        Self::NullBuses,
        Self::Nothing,
    ];
}
