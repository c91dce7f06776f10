//! Where to look first, in words.

use super::say::Say;
use crate::model::Section;
use survey::look_first::LookFirst;

pub(crate) fn section(places: &[LookFirst], say: Say) -> Option<Section> {
    if places.is_empty() {
        return None;
    }
    let mut section = Section::new("look-first", "Where to look first", "");
    for (index, place) in places.iter().enumerate() {
        let reasons: Vec<&str> = place.reasons.iter().map(|reason| reason.says.as_str()).collect();
        let bars = say.said((place.from.0..=place.to.0).map(notation::BarIndex));
        let text = format!("{bars}: {} — {}", reasons.join("; "), place.suggestion);
        section.line(&(index + 1).to_string(), text, vec![]);
    }
    Some(section)
}
