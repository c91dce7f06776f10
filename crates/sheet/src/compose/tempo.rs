//! Tempo, in words.

use super::say::Say;
use crate::model::Section;
use crate::words::clock;
use load::first_tempo::FirstTempo;
use survey::metre::BeatUnit;
use survey::tempo::TempoAnswer;

/// A range of numbers as a table gives it.
fn range(low: Option<f64>, high: Option<f64>) -> String {
    match (low, high) {
        (Some(low), Some(high)) if (low - high).abs() < 0.5 => format!("{low:.0}"),
        (Some(low), Some(high)) => format!("{low:.0}–{high:.0}"),
        (Some(low), None) => format!("{low:.0} and over"),
        (None, Some(high)) => format!("up to {high:.0}"),
        (None, None) => "no number".to_owned(),
    }
}

/// `for_player` is the first tempo of a study; it takes the place of the one that the survey proposes to anybody.
pub(crate) fn section(answer: &TempoAnswer, for_player: Option<&FirstTempo>, say: Say) -> Section {
    let mut section = Section::new("tempo", "Tempo", answer.summary.clone());
    if let (Some(marking), Some(meaning)) = (&answer.marking, &answer.meaning) {
        section.line(
            "marked",
            format!("{}: {meaning}", marking.replace('\n', " ")),
            vec![],
        );
    }
    if let Some(m) = &answer.metronome {
        let beat = if m.beat == m.printed.unit {
            String::new()
        } else {
            format!(
                "; on the beat {} = {}",
                m.beat.sign(),
                range(Some(m.beats_a_minute.0), Some(m.beats_a_minute.1))
            )
        };
        section.line(
            "metronome",
            format!("{} = {}{beat}", m.printed.unit.sign(), m.printed.text),
            say.at(m.place),
        );
    }
    let beat = answer
        .beat
        .map_or_else(|| "beat".to_owned(), survey::metre::BeatUnit::sign);
    let rows = answer
        .ranges
        .iter()
        .map(|table| {
            let about = if table.approximate { "about " } else { "" };
            vec![
                format!("{beat} = {about}{}", range(table.low, table.high)),
                format!("“{}”", table.term),
                table.table.to_owned(),
            ]
        })
        .collect();
    section.table("by table", &["", "", ""], rows);
    let mut rules: Vec<&str> = Vec::new();
    for table in &answer.ranges {
        let rule = table
            .rule
            .strip_prefix("as printed")
            .unwrap_or(&table.rule)
            .trim_start_matches([';', ' ', ',']);
        if !rule.is_empty() && !rules.contains(&rule) {
            rules.push(rule);
        }
    }
    if !rules.is_empty() {
        section.line("read as", rules.join("; "), vec![]);
    }
    if !answer.disagreement.is_empty() {
        section.line("so", answer.disagreement.clone(), vec![]);
    }
    for change in &answer.changes {
        section.line(
            "changes",
            format!("{}: {}", change.text.replace('\n', " "), change.says),
            say.at(change.place),
        );
    }
    if let Some(time) = &answer.playing_time {
        let (short, long) = (clock(time.shortest_secs), clock(time.longest_secs));
        let span = if short == long {
            short
        } else {
            format!("{short} to {long}")
        };
        section.line("plays", format!("{span}. {}", time.basis), vec![]);
    }
    if let Some(speed) = &answer.speed_at_mark {
        section.line("at tempo", speed.says.clone(), vec![]);
    }
    if let Some(first) = for_player {
        let (text, bars) = (player_first(first), first.set_by.as_ref());
        let bars = bars.map_or_else(Vec::new, |(bar, _)| vec![say.label(*bar)]);
        section.line("read first", format!("{text} for you. {}", first.reason), bars);
    } else if let Some(first) = &answer.first_reading {
        let text = tempi(first.beat, (first.low, first.high), first.click);
        let bars = first
            .hardest
            .as_ref()
            .map_or_else(Vec::new, |bar| vec![say.label(bar.bar)]);
        section.line("read first", format!("{text}. {}", first.reason), bars);
    }
    section
}

/// The first tempo of a player: `♩ = 54–72`.
pub(crate) fn player_first(first: &FirstTempo) -> String {
    tempi(first.beat, (first.range.low, first.range.high), first.range.click)
}

/// `♩. = 44–50 (click ♪ = 132–150)`.
fn tempi(beat: BeatUnit, (low, high): (u16, u16), click: Option<(BeatUnit, u16, u16)>) -> String {
    let span = |low: u16, high: u16| {
        if low == high {
            low.to_string()
        } else {
            format!("{low}–{high}")
        }
    };
    let click = click.map_or_else(String::new, |(unit, low, high)| {
        format!(" (click {} = {})", unit.sign(), span(low, high))
    });
    format!("{} = {}{click}", beat.sign(), span(low, high))
}
