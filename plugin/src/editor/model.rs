//! What the panel edits, and what becomes of an edit. It knows neither the toolkit nor the
//! framework. The panel's thread; `widgets`, `panel` and `window` import it.

pub mod action;
pub mod apply;
pub mod audition;
pub mod chart;
pub mod chart_edit;
pub mod chart_lines;
pub mod chart_reading;
pub mod files;
pub mod harmonies;
pub mod held;
pub mod history;
pub mod in_hand;
pub mod meter;
pub mod outside;
pub mod own;
pub mod page;
pub mod pages;
pub mod parameters;
pub mod passes;
pub mod practice;
#[cfg(test)]
pub mod recorder;
pub mod scale;
pub mod score;
pub mod state;
pub mod take;
pub mod transpose;
pub mod ways;
pub mod words;
