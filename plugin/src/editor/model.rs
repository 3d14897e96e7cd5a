//! What the panel edits, and what becomes of an edit. It knows neither the toolkit nor the framework.

pub mod harmonies;
pub mod history;
pub mod score;
pub mod shelf;
pub mod transpose;
pub mod words;
