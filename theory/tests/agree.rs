//! Chords that agree with a melody above them.

mod domain;

mod agree {
    pub mod degrees;
    pub mod oracle;
    pub mod plans;
    pub mod revoiced;
    pub mod steps;
    pub mod table;
}
