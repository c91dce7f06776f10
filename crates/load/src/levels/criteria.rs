//! Does the piece keep within a level? Each criterion that the table names, judged by itself.

use super::{Criterion, Keys, Level, Page, Rhythms};
use notation::Pitch;

/// Every criterion that the level names.
pub(super) fn judge(level: &Level, page: &Page) -> Vec<Criterion> {
    let mut criteria = Vec::new();
    criteria.extend(range(level, page));
    criteria.extend(keys(level, page));
    criteria.extend(metres(level, page));
    criteria.extend(changes(level, page));
    criteria.extend(level.rhythms.map(|rhythms| rhythm(&rhythms, page)));
    criteria.extend(tempo(level, page));
    criteria.extend(length(level, page));
    criteria.extend(leaps(level, page));
    criteria.extend(accidentals(level, page));
    criteria.extend(marks("dynamics", level.dynamics, &page.dynamics, "dynamics"));
    criteria.extend(marks(
        "articulation",
        level.articulation,
        &page.articulation,
        "slurs or marks",
    ));
    criteria
}

fn criterion(name: &'static str, fits: impl Into<Option<bool>>, why: impl Into<String>) -> Criterion {
    Criterion {
        name,
        fits: fits.into(),
        why: why.into(),
    }
}

fn range(level: &Level, page: &Page) -> Option<Criterion> {
    if let Some((low, high)) = level.range {
        let Some((lowest, highest)) = page.range else {
            return Some(criterion("range", None, "the part has no pitched note"));
        };
        let (low, high) = (Pitch::parse(low)?, Pitch::parse(high)?);
        let mut beyond = Vec::new();
        if lowest.key_number() < low.key_number() {
            beyond.push(format!("{} is below {}", lowest.sign(), low.sign()));
        }
        if highest.key_number() > high.key_number() {
            beyond.push(format!("{} is above {}", highest.sign(), high.sign()));
        }
        let asked = format!(
            "{}–{} within {}–{}",
            lowest.sign(),
            highest.sign(),
            low.sign(),
            high.sign()
        );
        let fits = beyond.is_empty();
        return Some(criterion(
            "range",
            fits,
            if fits { asked } else { beyond.join(", ") },
        ));
    }
    let span = level.span?;
    let Some((lowest, highest)) = page.range else {
        return Some(criterion("range", None, "the part has no pitched note"));
    };
    let wide = highest.key_number() - lowest.key_number();
    Some(criterion(
        "range",
        wide <= span,
        format!(
            "{}–{} spans {wide} semitones of {span}",
            lowest.sign(),
            highest.sign()
        ),
    ))
}

/// `no sharps or flats`, `3 flats`.
fn signature_words(fifths: i32) -> String {
    match fifths {
        0 => "no sharps or flats".to_owned(),
        n if n > 0 => format!("{n} sharp{}", if n == 1 { "" } else { "s" }),
        n => format!("{} flat{}", -n, if n == -1 { "" } else { "s" }),
    }
}

fn keys(level: &Level, page: &Page) -> Option<Criterion> {
    let outside = |allowed: &dyn Fn(i32) -> bool, shift: i32| -> Vec<String> {
        let mut said: Vec<i32> = page
            .signatures
            .iter()
            .map(|fifths| i32::from(*fifths) - shift)
            .collect();
        said.sort_unstable();
        said.dedup();
        said.into_iter()
            .filter(|fifths| !allowed(*fifths))
            .map(signature_words)
            .collect()
    };
    let (outside, limit) = match level.keys {
        Keys::Unsaid => return None,
        Keys::Any => return Some(criterion("keys", true, "any key")),
        Keys::Upto { flats, sharps } => {
            let allowed = |fifths: i32| fifths >= -i32::from(flats) && fifths <= i32::from(sharps);
            let limit = format!(
                "{} to {}",
                signature_words(-i32::from(flats)),
                signature_words(i32::from(sharps))
            );
            (outside(&allowed, 0), limit)
        }
        Keys::Concert(list) => {
            let allowed = |fifths: i32| list.iter().any(|known| i32::from(*known) == fifths);
            let names: Vec<String> = list
                .iter()
                .map(|fifths| signature_words(i32::from(*fifths)))
                .collect();
            (
                outside(&allowed, page.written_above_concert),
                format!("{} at concert pitch", names.join(", ")),
            )
        }
    };
    if page.signatures.is_empty() {
        return Some(criterion("keys", None, "the part has no key signature"));
    }
    let fits = outside.is_empty();
    let why = if fits {
        format!("within {limit}")
    } else {
        format!("{}; the table has {limit}", outside.join(", "))
    };
    Some(criterion("keys", fits, why))
}

fn metres(level: &Level, page: &Page) -> Option<Criterion> {
    if level.metres.is_empty() {
        return None;
    }
    let mut outside: Vec<&str> = page
        .metres
        .iter()
        .map(String::as_str)
        .filter(|metre| !level.metres.contains(metre))
        .collect();
    outside.sort_unstable();
    outside.dedup();
    let listed = level.metres.join(", ");
    if page.metres.is_empty() {
        return Some(criterion("metres", None, "the part has no time signature"));
    }
    let fits = outside.is_empty();
    let why = if fits {
        format!("all in {listed}")
    } else {
        format!("{}; the table has {listed}", outside.join(", "))
    };
    Some(criterion("metres", fits, why))
}

fn changes(level: &Level, page: &Page) -> Option<Criterion> {
    let (most_metres, most_keys) = level.changes?;
    let count = |n: usize| n.saturating_sub(1);
    let (metres, keys) = (count(page.metres.len()), count(page.signatures.len()));
    Some(criterion(
        "changes",
        metres <= most_metres && keys <= most_keys,
        format!("{metres} of at most {most_metres} changes of metre, {keys} of at most {most_keys} of key"),
    ))
}

fn rhythm(allowed: &Rhythms, page: &Page) -> Criterion {
    let mut beyond = Vec::new();
    if page.to_a_quarter > allowed.to_a_quarter {
        beyond.push(format!(
            "{} to a quarter note, the table has {}",
            page.to_a_quarter, allowed.to_a_quarter
        ));
    }
    let short_dotted = page
        .dotted
        .iter()
        .any(|name| name.contains("dotted eighth") || name.contains("dotted sixteenth"));
    let long_dotted = page.dotted.iter().any(|name| name.contains("dotted quarter"));
    if short_dotted && !allowed.dotted_eighth {
        beyond.push("dotted eighths".to_owned());
    }
    if long_dotted && !allowed.dotted_quarter && !page.compound {
        beyond.push("dotted quarters".to_owned());
    }
    if page.tuplets && !allowed.triplets {
        beyond.push("tuplets".to_owned());
    }
    if page.syncopated_bars > 0 && !allowed.syncopation {
        beyond.push(format!("syncopation in {} bars", page.syncopated_bars));
    }
    let fits = beyond.is_empty();
    criterion(
        "rhythms",
        fits,
        if fits {
            "all within the table's".to_owned()
        } else {
            beyond.join(", ")
        },
    )
}

fn tempo(level: &Level, page: &Page) -> Option<Criterion> {
    let (slow, fast) = level.tempo?;
    let Some((low, high)) = page.tempo else {
        return Some(criterion("tempo", None, "no tempo is marked"));
    };
    // A word stands for a range: it fits where the two overlap.
    let fits = high >= slow && low <= fast;
    let marked = if (high - low).abs() < 0.5 {
        format!("{low:.0}")
    } else {
        format!("{low:.0}–{high:.0}")
    };
    Some(criterion(
        "tempo",
        fits,
        format!("marked {marked}, the table has {slow:.0}–{fast:.0}"),
    ))
}

fn length(level: &Level, page: &Page) -> Option<Criterion> {
    let (fewest, most) = level.bars?;
    let fits = page.bars >= fewest && page.bars <= most;
    Some(criterion(
        "length",
        fits,
        format!("{} bars, the table has {fewest}–{most}", page.bars),
    ))
}

fn leaps(level: &Level, page: &Page) -> Option<Criterion> {
    let most = level.leap?;
    let Some(leap) = page.leap else {
        return Some(criterion("leaps", None, "no leaps were found"));
    };
    Some(criterion(
        "leaps",
        leap <= most,
        format!("the largest leap has {leap} semitones, the table has {most}"),
    ))
}

fn accidentals(level: &Level, page: &Page) -> Option<Criterion> {
    let allowed = level.accidentals?;
    Some(criterion(
        "accidentals",
        allowed || page.altered == 0,
        format!("{} notes are altered from the signature", page.altered),
    ))
}

/// Marks that are printed against those that the table has.
fn marks(name: &'static str, allowed: Option<&[&str]>, printed: &[String], what: &str) -> Option<Criterion> {
    let allowed = allowed?;
    let beyond: Vec<&str> = printed
        .iter()
        .map(String::as_str)
        .filter(|mark| !allowed.contains(mark))
        .collect();
    let listed = if allowed.is_empty() {
        format!("no {what}")
    } else {
        allowed.join(", ")
    };
    let why = if beyond.is_empty() {
        format!("within the table's: {listed}")
    } else {
        format!("{}; the table has {listed}", beyond.join(", "))
    };
    Some(criterion(name, beyond.is_empty(), why))
}
