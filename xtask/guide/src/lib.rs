//! Renders the guide in `plugin/guide` as static HTML, and checks what came out. mdBook makes the pages.
//! `main` and the tests import this.

mod check;
mod render;

pub use check::problems;
pub use render::render;
