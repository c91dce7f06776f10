//! Which scales and arpeggios to play first? Chosen from what the sixth, the seventh and the leaps of this part do.

use super::material::Material;
use super::tonality::{Scale, Tonality, note_name};
use crate::context::Context;
use notation::KeyRegion;

/// A scale or arpeggio to play before the piece.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Suggestion {
    /// What to play: `F melodic minor scale`, `arpeggio of B♭ major`.
    pub name: String,
    /// Why, from this part's notes.
    pub why: String,
}

/// Scales and arpeggios, the most useful first.
#[must_use]
pub fn first(
    ctx: &Context<'_>,
    material: &Material,
    key: Tonality,
    scale: Scale,
    regions: &[KeyRegion],
) -> Vec<Suggestion> {
    if material.line.is_empty() {
        return Vec::new();
    }
    let mut list = vec![own_scale(material, key, scale)];
    list.push(arpeggio(ctx, material, key, "the tonic chord"));
    let dominant = Tonality::major(key.fifths + 1);
    let walked = broken_chords(material, dominant);
    if !walked.is_empty() {
        list.push(Suggestion {
            name: format!("arpeggio of {} (the dominant)", dominant.name()),
            why: format!("the line leaps through it in {}", bars(ctx, &walked)),
        });
    }
    let own = (key.tonic(), key.mode());
    let mut seen: Vec<String> = Vec::new();
    for region in regions
        .iter()
        .filter(|region| (region.tonic, region.mode.as_str()) != own)
    {
        let local = Tonality {
            fifths: region.tonic.0.fifths() + 7 * i32::from(region.tonic.1),
            minor: region.mode == "minor",
        };
        let name = if local.minor {
            format!("{} harmonic minor scale", note_name(local.fifths))
        } else {
            format!("{} scale", local.name())
        };
        if seen.contains(&name) {
            continue;
        }
        let why = format!(
            "bars {}–{} lean to {}",
            ctx.label(region.from),
            ctx.label(region.to),
            local.name()
        );
        seen.push(name.clone());
        list.push(Suggestion { name, why });
    }
    let runs = chromatic_runs(material);
    if !runs.is_empty() {
        list.push(Suggestion {
            name: "chromatic scale".to_owned(),
            why: format!("the line moves by semitones in {}", bars(ctx, &runs)),
        });
    }
    list
}

/// The scale of the piece's own key, in the form that its sixths and sevenths ask for.
fn own_scale(material: &Material, key: Tonality, scale: Scale) -> Suggestion {
    let tonic = note_name(key.fifths);
    let suggestion = |form: &str, why: String| Suggestion {
        name: format!("{tonic} {form} scale"),
        why,
    };
    if !matches!(scale, Scale::Minor | Scale::Major) {
        return suggestion(scale.word(), "the part's own mode".to_owned());
    }
    if !key.minor {
        return suggestion("major", "the part's own key".to_owned());
    }
    let time = |above: i32| material.all.at(key.fifths + above);
    let name = |above: i32| note_name(key.fifths + above);
    let (low6, high6, low7, high7) = (time(-4), time(3), time(-2), time(5));
    // A raised sixth beside raised sevenths is the mark of the melodic form (common practice).
    if high7 > 0.0 && high6 > 0.0 && rising_sixths(material, key) > 0 {
        return suggestion(
            "melodic minor",
            format!("{} and {} come raised, rising to the tonic", name(3), name(5)),
        );
    }
    if high7 > 0.0 && (high7 >= low7 || low6 > 0.0) {
        return suggestion(
            "harmonic minor",
            format!(
                "the seventh is raised to {}, the sixth stays {}",
                name(5),
                name(-4)
            ),
        );
    }
    if low7 > 0.0 && high7 <= 0.0 {
        return suggestion("natural minor", format!("the seventh stays {}", name(-2)));
    }
    suggestion(
        "harmonic minor",
        "sixth and seventh hardly come: the usual form".to_owned(),
    )
}

/// How often the raised sixth goes up to the raised seventh, or comes down from it.
fn rising_sixths(material: &Material, key: Tonality) -> usize {
    let (six, seven) = (key.fifths + 3, key.fifths + 5);
    let beside = |a: i32, b: i32| (a == six && b == seven) || (a == seven && b == six);
    material
        .line
        .windows(2)
        .filter(|pair| beside(pair[0].fifths, pair[1].fifths))
        .count()
}

fn arpeggio(ctx: &Context<'_>, material: &Material, key: Tonality, otherwise: &str) -> Suggestion {
    let walked = broken_chords(material, key);
    let why = if walked.is_empty() {
        otherwise.to_owned()
    } else {
        format!("the line leaps through it in {}", bars(ctx, &walked))
    };
    Suggestion {
        name: format!("arpeggio of {}", key.name()),
        why,
    }
}

/// Notes of the line where three different notes of a key's triad follow each other.
fn broken_chords(material: &Material, key: Tonality) -> Vec<usize> {
    let triad = [key.fifths, key.third(), key.fifths + 1];
    let mut found = Vec::new();
    for (i, three) in material.line.windows(3).enumerate() {
        let all = triad
            .iter()
            .all(|note| three.iter().any(|sung| sung.fifths == *note));
        if all {
            found.push(i);
        }
    }
    found
}

/// Notes of the line where a run of at least four semitones in one direction begins.
fn chromatic_runs(material: &Material) -> Vec<usize> {
    let line = &material.line;
    let mut found = Vec::new();
    let (mut start, mut direction) = (0, 0);
    for i in 1..line.len() {
        let step = line[i].key - line[i - 1].key;
        if step.abs() != 1 || step != direction {
            (start, direction) = (i - 1, if step.abs() == 1 { step } else { 0 });
        }
        if direction != 0 && i - start == 4 {
            found.push(start);
        }
    }
    found
}

/// `bar 3`, `bars 3, 5 and 9`, `bars 3, 5, 9 …` of notes of the line, each bar once, six at most.
pub(super) fn bars(ctx: &Context<'_>, notes: &[usize]) -> String {
    let mut labels: Vec<&str> = notes
        .iter()
        .filter_map(|i| ctx.line.get(*i))
        .filter_map(|note| ctx.event(note))
        .map(|event| ctx.label(event.place.bar))
        .collect();
    labels.dedup();
    listed(&labels)
}

/// Bar labels in words.
pub(super) fn listed(labels: &[&str]) -> String {
    match labels {
        [] => "no bar".to_owned(),
        [one] => format!("bar {one}"),
        [firsts @ .., last] if labels.len() <= 6 => format!("bars {} and {last}", firsts.join(", ")),
        _ => format!("bars {} and {} more", labels[..6].join(", "), labels.len() - 6),
    }
}
