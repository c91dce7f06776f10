//! Which woodwinds have a chart good enough to give? Each is given only as far as its sources reach.

mod bassoon;
mod clarinet;
mod flute;
mod oboe;
mod recorder;
mod saxophone;

use super::chart::{Chart, Sheet};
use crate::facts::Grade;

const SHEETS: [&Sheet; 6] = [
    &flute::SHEET,
    &oboe::SHEET,
    &clarinet::SHEET,
    &saxophone::SHEET,
    &bassoon::SHEET,
    &recorder::SHEET,
];

/// The charts of the woodwinds.
pub(crate) fn charts() -> Vec<Chart> {
    let mut charts: Vec<Chart> = SHEETS.into_iter().map(Chart::of).collect();
    charts.push(english_horn());
    // The shapes of an instrument in C, read a fourth higher (alto), or a twelfth lower than that (bass).
    charts.push(Chart::of(&recorder::SHEET).shifted(5, "recorder-f", "Recorder in F (baroque fingering)"));
    charts.push(Chart::of(&recorder::SHEET).shifted(
        -19,
        "recorder-f-bass",
        "Bass recorder (baroque fingering)",
    ));
    charts
}

/// The English horn reads the oboe's chart down to B3; that it does is from memory, and so is every entry.
fn english_horn() -> Chart {
    let mut chart = Chart::of(&oboe::SHEET).shifted(0, "english-horn", "English horn (the oboe's chart)");
    chart.notes_by_key.retain(|key, _| *key > 58);
    for fingering in chart.notes_by_key.values_mut().flatten() {
        fingering.grade = Grade::C;
    }
    chart
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every row is read, so that no fingering is dropped in silence.
    #[test]
    fn every_row_is_understood() {
        for sheet in SHEETS {
            for row in sheet.rows {
                assert!(row.read(sheet.held).is_some(), "{}: {row:?}", sheet.id);
            }
            let chart = Chart::of(sheet);
            assert_eq!(chart.touch().rollers.len(), sheet.rollers.len());
            assert_eq!(chart.touch().pivots.len(), sheet.pivots.len());
            assert_eq!(chart.touch().straddled.len(), sheet.straddled.len());
            assert_eq!(chart.unsettled.len(), sheet.unsettled.len());
            assert_eq!(chart.tendencies.len(), sheet.tendencies.len());
        }
    }
}
