//! What do the signatures say, and can they be believed? Old horn, trumpet and drum parts carry none by custom.

use super::material::Material;
use crate::context::Context;
use notation::{Alter, Id, KeySignature, Pitch, Place, Step, Transposition};

/// A stretch of bars under one signature.
#[derive(Clone, PartialEq, Debug)]
pub struct SignatureRegion {
    /// From where it holds, until the next.
    pub place: Place,
    /// The change as it stands in the part; `None` where the part states none at all.
    pub element: Option<Id>,
    /// The signature.
    pub signature: KeySignature,
    /// How long it holds, in quarter notes of written order.
    pub quarters: f64,
}

/// The signatures of a part, in order, each once: repetitions of the one in force are left out.
#[must_use]
pub fn regions(ctx: &Context<'_>) -> Vec<SignatureRegion> {
    let mut regions: Vec<SignatureRegion> = Vec::new();
    let first_staff = ctx
        .part
        .keys
        .iter()
        .filter(|change| change.staff.is_none_or(|staff| staff == 1));
    for change in first_staff {
        let same = regions.last().is_some_and(|last| {
            last.signature.fifths == change.value.fifths && last.signature.listed == change.value.listed
        });
        if same {
            continue;
        }
        // Two at one place: the later one stands.
        if regions.last().is_some_and(|last| last.place == change.place) {
            regions.pop();
        }
        regions.push(SignatureRegion {
            place: change.place,
            element: Some(change.id),
            signature: change.value.clone(),
            quarters: 0.0,
        });
    }
    if regions
        .first()
        .is_none_or(|first| first.place != Place::default())
    {
        let signature = KeySignature::of_fifths(0);
        regions.insert(
            0,
            SignatureRegion {
                place: Place::default(),
                element: None,
                signature,
                quarters: 0.0,
            },
        );
    }
    let end = ctx.bar_onsets.last().copied().unwrap_or_default().to_f64();
    let starts: Vec<f64> = regions
        .iter()
        .map(|region| ctx.onset(region.place).to_f64())
        .collect();
    for (i, region) in regions.iter_mut().enumerate() {
        region.quarters = (starts.get(i + 1).copied().unwrap_or(end) - starts[i]).max(0.0);
    }
    regions
}

/// Sharps (+) or flats (−) of a signature; the sum of the alterations of a non-traditional one.
#[must_use]
pub fn fifths(signature: &KeySignature) -> i32 {
    signature.fifths.map_or_else(
        || signature.listed.iter().map(|(_, alter)| whole(*alter)).sum(),
        i32::from,
    )
}

fn whole(alter: Alter) -> i32 {
    i32::try_from(alter.floor()).unwrap_or(0)
}

/// What the signatures are worth as evidence.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Witness {
    /// Sharps (+) or flats (−) at the start.
    pub first: i32,
    /// Of the signature that holds longest.
    pub longest: i32,
    /// True if they can be believed: false for a part that carries none by custom.
    pub believed: bool,
    /// True if they are not this part's own but what the other parts' signature would be as this part is written.
    pub borrowed: bool,
    /// True if the printed signature is contradicted all through and the one that the notes keep to stands here.
    pub by_notes: bool,
}

/// A signature is contradicted if another one, at least two sharps or flats away, covers at least this much more of
/// the part's time; less is enough where a letter is never what the signature asks. Folk song books that print the
/// major signature of every tonic are like that, and so are minor pieces under their parallel major's signature; a
/// piece that modulates stays below (ours, chosen on Essen songs).
const CONTRADICTED: f64 = 0.10;
const CONTRADICTED_BY_A_LETTER: f64 = 0.03;
const AWAY: i32 = 2;
/// A letter is never what the signature asks if it has this share of the time, and this share of its own otherwise.
const LETTER: f64 = 0.04;
const OTHERWISE: f64 = 0.9;

/// The signature that the notes keep to, where the one printed is contradicted all through; `None` where it isn't.
fn contradicted_by_notes(regions: &[SignatureRegion], material: &Material) -> Option<i32> {
    let [only] = regions else { return None };
    let printed = fifths(&only.signature);
    let total = material.all.total();
    if total <= 0.0 || printed == 0 && only.element.is_none() {
        return None;
    }
    // A signature of so many sharps leaves the notes from one below to five above its count on the line of fifths.
    let covered = |signature: i32| -> f64 {
        let inside = |f: &i32| (signature - 1..=signature + 5).contains(f);
        material
            .all
            .iter()
            .filter(|(f, _)| inside(f))
            .map(|(_, time)| time)
            .sum::<f64>()
            / total
    };
    let best = (-7..=7)
        .filter(|other: &i32| (other - printed).abs() >= AWAY)
        .map(|other| (covered(other), other))
        .max_by(|a, b| {
            a.0.total_cmp(&b.0)
                .then((b.1 - printed).abs().cmp(&(a.1 - printed).abs()))
        })?;
    let gain = best.0 - covered(printed);
    let enough = if letter_contradicts(printed, material, total) {
        CONTRADICTED_BY_A_LETTER
    } else {
        CONTRADICTED
    };
    (gain >= enough).then_some(best.1)
}

/// Is some letter hardly ever what the signature asks of it?
fn letter_contradicts(printed: i32, material: &Material, total: f64) -> bool {
    (printed - 1..=printed + 5).any(|asked| {
        let (mut time, mut kept) = (0.0, 0.0);
        // Notes of one letter lie seven fifths apart.
        for (fifths, weight) in material.all.iter() {
            if (fifths - asked) % 7 == 0 {
                time += weight;
                kept += if fifths == asked { weight } else { 0.0 };
            }
        }
        time >= LETTER * total && kept <= (1.0 - OTHERWISE) * time
    })
}

/// Judges the signatures of a part.
///
/// A part without sharps or flats is not believed where custom writes none (natural horns and trumpets, timpani:
/// Source: common practice of the classical orchestra, any orchestration handbook) or where the notes
/// contradict it: more than a fifth of their time altered.
#[must_use]
pub fn witness(
    ctx: &Context<'_>,
    regions: &[SignatureRegion],
    material: &Material,
    use_score: bool,
) -> Witness {
    let first = regions.first().map_or(0, |region| fifths(&region.signature));
    let longest = regions
        .iter()
        .max_by(|a, b| a.quarters.total_cmp(&b.quarters))
        .map_or(0, |region| fifths(&region.signature));
    let bare = regions.iter().all(|region| fifths(&region.signature) == 0);
    let total = material.all.total();
    let altered: f64 = material
        .all
        .iter()
        .filter(|(f, _)| !(-1..=5).contains(f))
        .map(|(_, w)| w)
        .sum();
    let contradicted = total > 0.0 && altered > 0.2 * total;
    let believed = !(bare && (contradicted || none_by_custom(ctx)));
    if !believed
        && use_score
        && let Some(theirs) = of_other_parts(ctx)
    {
        return Witness {
            first: theirs,
            longest: theirs,
            believed: true,
            borrowed: true,
            by_notes: false,
        };
    }
    if believed && let Some(kept) = contradicted_by_notes(regions, material) {
        return Witness {
            first: kept,
            longest: kept,
            believed: true,
            borrowed: false,
            by_notes: true,
        };
    }
    Witness {
        first,
        longest,
        believed,
        borrowed: false,
        by_notes: false,
    }
}

/// The first signature of most other parts, moved to this part's written pitch; `None` if none of them has one.
fn of_other_parts(ctx: &Context<'_>) -> Option<i32> {
    let piece = ctx.piece;
    let shift = |part: &notation::Part| {
        if piece.concert_pitch {
            0
        } else {
            to_concert(part.transposition_at(Place::default()))
        }
    };
    let own = shift(ctx.part);
    let mut theirs: Vec<i32> = piece
        .parts
        .iter()
        .enumerate()
        .filter(|(i, _)| *i != ctx.part_index)
        .filter_map(|(_, part)| {
            let count = fifths(&part.keys.first()?.value);
            (count != 0).then_some(count + shift(part) - own)
        })
        .collect();
    theirs.sort_unstable();
    theirs.get(theirs.len() / 2).copied()
}

/// Steps on the line of fifths from written to sounding.
#[must_use]
pub fn to_concert(transposition: Transposition) -> i32 {
    let c = Pitch::new(Step::C, 0, 4);
    transposition.sounding(c).fifths()
}

/// Instruments whose parts are written without a signature whatever the key.
/// Source: common practice (natural brass and timpani parts; see the names in several languages).
#[must_use]
pub fn none_by_custom(ctx: &Context<'_>) -> bool {
    const NAMES: [&str; 22] = [
        "horn",
        "corno",
        "corni",
        "cor ",
        "cors",
        "hörn",
        "waldhorn",
        "trumpet",
        "tromba",
        "trombe",
        "trompet",
        "trompete",
        "clarino",
        "clarini",
        "timpani",
        "timpano",
        "pauken",
        "timbal",
        "kettledrum",
        "cornet",
        "bugle",
        "jagdhorn",
    ];
    const NOT: [&str; 5] = [
        "english horn",
        "corno inglese",
        "cor anglais",
        "basset",
        "englischhorn",
    ];
    let part = ctx.part;
    let named = [Some(&part.name), part.instrument_name.as_ref()]
        .into_iter()
        .flatten();
    let mut names: Vec<String> = named.map(|name| format!("{} ", name.to_lowercase())).collect();
    names.dedup();
    let sound = part.instrument_sound.as_deref().unwrap_or("");
    names
        .iter()
        .any(|name| NAMES.iter().any(|n| name.contains(n)) && !NOT.iter().any(|n| name.contains(n)))
        || sound.starts_with("brass.natural-horn")
        || sound.starts_with("brass.french-horn")
        || sound.starts_with("brass.trumpet")
        || sound.starts_with("drum.timpani")
}
