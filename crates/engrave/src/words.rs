//! How are the words of a part set? Tempos bold with their metronome mark beside them, jumps at the bar line with their sign.

use formats::{WordSetting, WordStyle};
use notation::{Direction, DirectionKind, Id, Part, Side};
use std::collections::BTreeMap;

/// Directions that say again what another one says (the same tempo over each staff of a score, brought together in one
/// part): anything at the same place, a tempo anywhere in the same bar; and which one that is.
pub(crate) fn repeated(part: &Part) -> BTreeMap<Id, Id> {
    let mut repeated = BTreeMap::new();
    let printed: Vec<&Direction> = part
        .directions
        .iter()
        .filter(|direction| direction.printed)
        .collect();
    for (index, direction) in printed.iter().enumerate() {
        let earlier = printed.get(..index).unwrap_or(&[]).iter().rev();
        let first = earlier
            .take_while(|other| other.place.bar == direction.place.bar)
            .filter(|other| other.kind == direction.kind && !repeated.contains_key(&other.id))
            .find(|other| other.place == direction.place || is_tempo(direction));
        if let Some(first) = first {
            repeated.insert(direction.id, first.id);
        }
    }
    repeated
}

fn is_tempo(direction: &Direction) -> bool {
    match &direction.kind {
        DirectionKind::Metronome(_) => true,
        DirectionKind::Words(text) => {
            matches!(
                terms::read(text).kind,
                Some(terms::Kind::Tempo | terms::Kind::ChangeOfTempo)
            )
        }
        _ => false,
    }
}

/// How the words of a part are set, by their directions. Words not named are set as expression.
pub(crate) fn settings(part: &Part, repeated: &BTreeMap<Id, Id>) -> BTreeMap<Id, WordSetting> {
    let mut taken: Vec<Id> = repeated.keys().copied().collect();
    let mut settings = BTreeMap::new();
    let heard = |direction: &&Direction| direction.printed && !repeated.contains_key(&direction.id);
    for direction in part.directions.iter().filter(heard) {
        let DirectionKind::Words(text) = &direction.kind else {
            continue;
        };
        let mut beside = part
            .directions
            .iter()
            .filter(|other| other.printed && other.place == direction.place && !taken.contains(&other.id));
        let kind = terms::read(text).kind;
        // Whatever words stand at a metronome mark, they are the tempo's.
        let timed = beside
            .clone()
            .any(|other| matches!(other.kind, DirectionKind::Metronome(_)));
        let style = match kind {
            Some(terms::Kind::RoadMap) if is_jump(text) => WordStyle::Jump,
            // Below the staff a tempo's word says how to play, not how fast.
            Some(terms::Kind::Tempo) if direction.side != Some(Side::Below) => WordStyle::Tempo,
            Some(terms::Kind::Dynamic | terms::Kind::ChangeOfDynamic | terms::Kind::Technique) => continue,
            _ if timed => WordStyle::Tempo,
            _ => continue,
        };
        let with = beside
            .find(|other| belongs(style, text, other))
            .map(|other| other.id);
        taken.extend(with);
        settings.insert(direction.id, WordSetting { style, with });
    }
    settings
}

/// Whether words send the player somewhere, rather than telling how often or in which pass to play.
fn is_jump(text: &str) -> bool {
    use terms::road::RoadKind;
    terms::road::road_words(text).iter().any(|word| {
        matches!(
            word.kind,
            RoadKind::DaCapo
                | RoadKind::DalSegno
                | RoadKind::ToCoda
                | RoadKind::CodaHere
                | RoadKind::SegnoHere
                | RoadKind::FineHere
                | RoadKind::Continuation
                | RoadKind::Attacca
                | RoadKind::TurnQuickly
        )
    })
}

/// Whether a sign stands in one line with words.
fn belongs(style: WordStyle, text: &str, other: &Direction) -> bool {
    match style {
        WordStyle::Tempo => matches!(other.kind, DirectionKind::Metronome(_)),
        WordStyle::Jump => {
            let text = text.to_lowercase();
            // “To Coda” has its sign behind it; the sign beside “D.S. al Coda” is one of its own.
            matches!(other.kind, DirectionKind::Coda) && text.contains("coda") && !text.contains("al coda")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{repeated, settings};
    use formats::WordStyle;
    use notation::{Part, sketch};

    fn part(line: &str) -> Part {
        sketch(line).unwrap().parts.remove(0)
    }

    fn styles(line: &str) -> Vec<(WordStyle, bool)> {
        let part = part(line);
        let settings = settings(&part, &repeated(&part));
        settings
            .values()
            .map(|setting| (setting.style, setting.with.is_some()))
            .collect()
    }

    #[test]
    fn tempos_jumps_and_expression_are_told_apart() {
        assert_eq!(styles("\"Allegro\" mm:q=120 C5/w |"), [(WordStyle::Tempo, true)]);
        assert_eq!(styles("\"Allegro\" C5/w |"), [(WordStyle::Tempo, false)]);
        assert_eq!(styles("\"D.C._al_Fine\" C5/w |"), [(WordStyle::Jump, false)]);
        assert_eq!(styles("\"To_Coda\" coda C5/w |"), [(WordStyle::Jump, true)]);
        assert_eq!(styles("\"D.S._al_Coda\" coda C5/w |"), [(WordStyle::Jump, false)]);
        assert_eq!(styles("\"dolce\" C5/w | \"2nd_time_p\" D5/w |"), []);
        // Whatever stands at a metronome mark is a tempo.
        assert_eq!(
            styles("\"Fast,_with_bite\" mm:e=208 C5/w |"),
            [(WordStyle::Tempo, true)]
        );
    }

    #[test]
    fn what_is_said_twice_is_drawn_once() {
        let count = |line: &str| repeated(&part(line)).len();
        assert_eq!(count("mm:q=120 mm:q=120 C5/w |"), 1);
        assert_eq!(count("\"a_tempo\" C5/h \"a_tempo\" D5/h |"), 1);
        assert_eq!(count("\"a_tempo\" C5/w | \"a_tempo\" D5/w |"), 0);
        assert_eq!(count("\"dolce\" C5/h \"dolce\" D5/h |"), 0);
        assert_eq!(count("@p C5/h @p D5/h |"), 0);
    }
}
