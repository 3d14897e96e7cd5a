//! Drills from where the exercise says. Imports `basis`, `list` and `chart`.

use super::basis::{Made, Making};
use super::chart::ChartToAsk;
use crate::choice::Origin;
use crate::told::NoDrill;

impl Making<'_> {
    /// The drill of the exercise, from its list or from the chart.
    ///
    /// # Errors
    /// Why there is none.
    pub fn drill(&self, chart: Option<&ChartToAsk<'_>>) -> Result<Made, NoDrill> {
        match (self.exercise.origin, chart) {
            (Origin::List, _) => self.of_list(),
            (Origin::Chart, Some(chart)) => self.of_chart(chart),
            (Origin::Chart, None) => Err(NoDrill::NoChords),
        }
    }
}
