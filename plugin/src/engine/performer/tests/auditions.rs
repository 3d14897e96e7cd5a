//! What is tried by ear: its times, its ends, and how it lies beside what is played.

mod beside;
mod ends;
mod model;
mod stage;
mod times;

use super::*;
use crate::engine::trial::{Pace, Request, Step};
use stage::{RATE, Stage, chord, line, note, resting, scale, song, sounding};
