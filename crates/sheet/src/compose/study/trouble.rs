//! Trouble spots, in words: three to read slowly before anything else, then the others.

use super::Told;
use crate::model::{Row, Section};
use load::spots::Spot;
use notation::BarIndex;

pub(super) fn sections(told: Told) -> Vec<Section> {
    let all = &told.study.spots;
    let (first, others): (Vec<_>, Vec<_>) = all.iter().zip(1..).partition(|(spot, _)| spot.slowly_first);
    let name = match first.len() {
        1 => "Read this one slowly first",
        2 => "Read these two slowly first",
        _ => "Read these three slowly first",
    };
    [("slowly-first", name, first), ("spots", "Trouble spots", others)]
        .into_iter()
        .filter(|(.., spots)| !spots.is_empty())
        .map(|(id, name, spots)| {
            let mut section = Section::new(id, name, "");
            let rows = spots.into_iter().map(|(spot, rank)| row(told, spot, rank));
            section.rows = rows.collect();
            section
        })
        .collect()
}

fn row(told: Told, spot: &Spot, rank: usize) -> Row {
    let next = BarIndex(spot.to.0 + 1);
    let into = if next.get() < told.what.piece.bars.len() {
        format!("into the downbeat of {}", told.say.bar(next))
    } else {
        String::new()
    };
    let also = if spot.also.is_empty() {
        String::new()
    } else {
        format!("also {}", told.say.said(spot.also.iter().copied()))
    };
    Row::Spot {
        rank,
        bars: (told.say.run(spot.from, spot.to), into),
        reasons: once(&spot.reasons),
        doing: spot.suggestion.to_owned(),
        also,
    }
}

/// Reasons of the survey and of the study that say the same (`the clef changes to alto`, `clef changes to alto`) once.
pub(crate) fn once(reasons: &[String]) -> Vec<String> {
    let plain = |text: &str| text.strip_prefix("the ").unwrap_or(text).to_owned();
    let mut said: Vec<String> = Vec::new();
    for reason in reasons {
        if !said.iter().any(|known| plain(known) == plain(reason)) {
            said.push(reason.clone());
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::once;

    #[test]
    fn the_same_is_said_once() {
        let reasons = ["clef changes to alto", "a leap", "the clef changes to alto"].map(str::to_owned);
        assert_eq!(once(&reasons), ["clef changes to alto", "a leap"]);
    }
}
