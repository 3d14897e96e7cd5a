//! Chords that agree with a melody above them.

mod agree {
    pub mod table;
}
