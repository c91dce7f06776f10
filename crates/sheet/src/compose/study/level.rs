//! Which published level tables does it fit, criterion by criterion? Never a grade without its table.

use super::Told;
use crate::model::Section;
use load::levels::Standing;

pub(super) fn section(told: Told) -> Option<Section> {
    let levels = &told.study.levels;
    if levels.is_empty() {
        return None;
    }
    let answer = "By each table; they are made for different players and disagree.";
    let mut section = Section::new("level", "Level", answer);
    for standing in levels {
        let rows = standing.criteria.iter().map(|criterion| {
            let fits = match criterion.fits {
                Some(true) => "fits",
                Some(false) => "exceeds",
                None => "not judged",
            };
            vec![criterion.name.to_owned(), fits.to_owned(), criterion.why.clone()]
        });
        section.table(&heading(standing), &["", "", ""], rows.collect());
        let about = [standing.table.about, standing.table.source];
        let about: Vec<&str> = about.into_iter().filter(|text| !text.is_empty()).collect();
        section.line("table", about.join("; "), vec![]);
    }
    Some(section)
}

/// `Texas orchestra sight-reading: nearest is level III, exceeded in keys`.
fn heading(standing: &Standing) -> String {
    standing.says()
}
