#![doc = include_str!("book.md")]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic
    )
)]

pub mod candidates;
pub mod chart;
pub mod chord;
pub mod comping;
pub mod cost;
pub mod degree;
pub mod dressing;
pub mod judge;
pub mod key;
pub mod kind;
pub mod line;
pub mod melody;
pub mod other_voicings;
pub mod own_shape;
pub mod pcset;
pub mod pin;
pub mod pipeline;
pub mod pitch;
pub mod plan;
pub mod quality;
pub mod read;
pub mod reharm;
pub mod root_note;
pub mod scale;
pub mod shape;
pub mod slash;
pub mod symbol;
pub mod tension;
pub mod transpose;
pub mod under;
pub mod voicing;
pub mod words;
