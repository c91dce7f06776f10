//! How is it said? Verdicts, clocks, lists and days, the same on every screen of looking first.

use practice::look_first::Verdict;
use store::PieceRow;
use wire::{LookSaid, LookedAt};

/// How an answer stands, as its heading.
pub(super) fn verdict(id: &str) -> &'static str {
    match id {
        "seen" => "Seen",
        "half" => "Half seen",
        "missed" => "Missed",
        _ => "Not looked at",
    }
}

/// A class for its sign.
pub(super) fn class(id: &str) -> &'static str {
    match id {
        "seen" => "seen",
        "half" => "half",
        "missed" => "missed",
        _ => "not-looked",
    }
}

/// Whether something of a question escaped.
pub(super) fn is_missed(question: &LookedAt) -> bool {
    question.verdict == Verdict::Missed.id()
}

/// What escaped of a question.
pub(super) fn missed(question: &LookedAt) -> impl Iterator<Item = &LookSaid> {
    question
        .said
        .iter()
        .filter(|said| said.verdict == Verdict::Missed.id())
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// How long there was.
pub(super) fn clock(id: &str) -> &'static str {
    match id {
        "30" => "half a minute",
        "60" => "a minute",
        _ => "no clock",
    }
}

/// How long she looked.
pub(super) fn used(seconds: f64) -> String {
    let whole = seconds.round().max(0.0);
    if whole < 91.0 {
        return if (whole - 1.0).abs() < 0.5 {
            "1 second".to_owned()
        } else {
            format!("{whole:.0} seconds")
        };
    }
    format!("{:.0} minutes", (whole / 60.0).round())
}

/// Evidence as a sentence; letters of dynamics stay as they are.
pub(super) fn evidence(text: &str) -> String {
    let word = text.split(' ').next().unwrap_or_default();
    let dynamic = word.chars().all(|c| "pmfrsz".contains(c));
    let said = if dynamic {
        text.to_owned()
    } else {
        crate::screen::capital(text)
    };
    let stop = if said.ends_with('.') { "" } else { "." };
    format!("{said}{stop}")
}

/// The day of a moment as it is kept.
pub(crate) fn day(made: &str) -> &str {
    made.split('T').next().unwrap_or(made)
}

/// What a piece is called.
pub(crate) fn title(row: &PieceRow) -> &str {
    if row.title.trim().is_empty() {
        &row.file_name
    } else {
        &row.title
    }
}

/// Bars by their labels: `bar 4`, `bars 4, 7`; runs joined where their numbers follow each other.
pub(super) fn bars(labels: &[String]) -> String {
    if labels.is_empty() {
        return String::new();
    }
    let mut runs: Vec<(String, String)> = Vec::new();
    for label in labels {
        let number = |text: &str| text.parse::<i64>().ok();
        let follows = runs.last().is_some_and(|(_, last)| {
            number(last)
                .zip(number(label))
                .is_some_and(|(last, now)| now == last + 1)
        });
        match runs.last_mut() {
            Some(run) if follows => run.1.clone_from(label),
            _ => runs.push((label.clone(), label.clone())),
        }
    }
    const SHOWN: usize = 6;
    let more = runs.len().saturating_sub(SHOWN);
    let said: Vec<String> = runs
        .iter()
        .take(SHOWN)
        .map(|(from, to)| {
            if from == to {
                from.clone()
            } else {
                format!("{from}–{to}")
            }
        })
        .collect();
    let word = if labels.len() == 1 { "bar" } else { "bars" };
    let tail = if more > 0 { " …" } else { "" };
    format!("{word} {}{tail}", said.join(", "))
}

#[cfg(test)]
mod tests {
    use super::{bars, evidence, listed, used};

    #[test]
    fn lists_and_bars_read_as_they_are_spoken() {
        let labels = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        assert_eq!(bars(&labels("7")), "bar 7");
        assert_eq!(bars(&labels("7 8 9 12")), "bars 7–9, 12");
        assert_eq!(bars(&labels("4a 5")), "bars 4a, 5");
        assert_eq!(bars(&[]), "");
        assert_eq!(bars(&labels("1 3 5 7 9 11 13 15")), "bars 1, 3, 5, 7, 9, 11 …");
        assert_eq!(evidence("the close is on D"), "The close is on D.");
        assert_eq!(evidence("pp in bar 4. Beware."), "pp in bar 4. Beware.");
        assert_eq!(listed(&["key", "metre", "tempo"]), "key, metre and tempo");
        assert_eq!(
            (used(1.2), used(29.6), used(150.0)),
            (
                "1 second".to_owned(),
                "30 seconds".to_owned(),
                "3 minutes".to_owned()
            )
        );
    }
}
