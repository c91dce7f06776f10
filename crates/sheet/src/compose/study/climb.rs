//! The first tempo and the climb to the goal, in words and rungs to tick off.

use super::Told;
use crate::compose::tempo::player_first;
use crate::model::{Row, Section, Tick};
use load::first_tempo::FirstTempo;
use load::ladder::Rung;
use survey::metre::BeatUnit;

pub(super) fn section(told: Told) -> Option<Section> {
    let study = told.study;
    let first = study.first.as_ref()?;
    let start = player_first(first);
    let goal = study.goal.as_ref().map(|goal| {
        (
            format!("{} = {:.0}", goal.beat.sign(), goal.bpm),
            goal.from.as_str(),
        )
    });
    let answer = match &goal {
        Some((goal, _)) => format!("Read it first at {start}, then climb to {goal}."),
        None => format!("Read it first at {start}."),
    };
    let mut section = Section::new("first-tempo", "First tempo and the climb", answer);
    section.line("decides", first.reason.clone(), vec![]);
    if let Some((bar, why)) = &first.set_by {
        let why = if why.is_empty() {
            "it asks most"
        } else {
            why.as_str()
        };
        section.line(
            "slow end",
            format!("set by {}: {why}", told.say.bar(*bar)),
            vec![],
        );
    }
    match goal {
        Some((goal, from)) => section.line("goal", format!("{goal}, {from}"), vec![]),
        None => section.line(
            "goal",
            "No tempo is marked: agree on one with your teacher, then ask again with it.",
            vec![],
        ),
    }
    if let Some(ladder) = study.ladder.as_ref().filter(|ladder| !ladder.rungs.is_empty()) {
        let (words, source) = (ladder.scheme.words(), ladder.scheme.source());
        section.line("climb", format!("{words} ({source})"), vec![]);
        if let Some(lowest) = ladder.rungs.first().filter(|rung| too_fast(rung, first)) {
            let text = format!(
                "The metronome's marks begin at {}: stay at the first tempo until it is easy there.",
                lowest.says()
            );
            section.line("before it", text, vec![]);
        }
        section
            .rows
            .push(Row::Rungs(ladder.rungs.iter().map(tick).collect()));
        section.line("on the way", ladder.advice, vec![]);
    }
    Some(section)
}

/// True if a rung is faster than the whole range of the first tempo.
fn too_fast(rung: &Rung, first: &FirstTempo) -> bool {
    let quarters = |beat: BeatUnit, bpm: u16| beat.quarters().to_f64() * f64::from(bpm);
    quarters(rung.beat, rung.bpm) > quarters(first.beat, first.range.high) + 1e-6
}

fn tick(rung: &Rung) -> Tick {
    let click = if rung.click == rung.beat {
        String::new()
    } else {
        format!("click {} = {}", rung.click.sign(), rung.click_bpm)
    };
    Tick {
        tempo: format!("{} = {}", rung.beat.sign(), rung.bpm),
        click,
        times: rung.times,
    }
}
