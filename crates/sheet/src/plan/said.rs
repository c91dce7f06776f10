//! How are days, tempi and turns said shortly?

use load::ladder::Rung;
use practice::plan::{Asked, Date, LeftWhy, Plan, Turn, TurnKind, Work};

/// `Mon 4 Jan`.
pub(super) fn day(date: Date) -> String {
    date.format("%a %-d %b").to_string()
}

/// `Saturday, 13 February 2027`.
pub(super) fn long_day(date: Date) -> String {
    date.format("%A, %-d %B %Y").to_string()
}

/// `3`, `½`.
pub(super) fn minutes(secs: u32) -> String {
    match (secs / 60, secs % 60 >= 30) {
        (0, true) => "½".to_owned(),
        (whole, true) => format!("{whole}½"),
        (whole, false) => whole.to_string(),
    }
}

/// `3 at ♩ = 63, 1 at ♩ = 72`; where the beat changes on the way, in the note that the turn began with, too:
/// `3 at ♪ = 69, 1 at ♪ = 80 (♩ = 40)`.
pub(super) fn tempi(rungs: &[Rung]) -> String {
    let begun = rungs.first().map(|rung| rung.beat);
    let said = rungs.iter().map(|rung| {
        let mark = |beat: &str, bpm| format!("{beat}\u{a0}=\u{a0}{bpm}");
        let beat = mark(rung.beat.sign().as_str(), rung.bpm);
        let tempo = if begun != Some(rung.beat) && begun == Some(rung.click) {
            format!("{} ({beat})", mark(rung.click.sign().as_str(), rung.click_bpm))
        } else {
            beat
        };
        format!("{}\u{a0}at\u{a0}{tempo}", rung.times.0.max(1))
    });
    said.collect::<Vec<_>>().join(", ")
}

/// What to set the metronome to where it clicks another note than the beat: `♪ = 96 for ♩ = 48`.
pub(super) fn clicks<'a>(rungs: impl Iterator<Item = &'a Rung>) -> String {
    let mut said: Vec<(u16, String)> = rungs
        .filter(|rung| rung.click != rung.beat)
        .map(|rung| {
            let text = format!(
                "{} = {} for {} = {}",
                rung.click.sign(),
                rung.click_bpm,
                rung.beat.sign(),
                rung.bpm
            );
            (rung.click_bpm, text)
        })
        .collect();
    said.sort();
    said.dedup();
    let texts: Vec<String> = said.into_iter().map(|(_, text)| text).collect();
    texts.join(", ")
}

/// The work of a turn, if it is about one.
pub(super) fn work<'a>(asked: &'a Asked, turn: &Turn) -> Option<&'a Work> {
    asked.works.get(turn.work?)
}

/// `bars 12–14`, `bar 3 and bar 7`; where there are several works, with the title.
pub(super) fn bars(asked: &Asked, turn: &Turn) -> String {
    let Some(work) = work(asked, turn) else {
        return String::new();
    };
    let whole = matches!(turn.kind, TurnKind::RunThrough | TurnKind::Mock) && turn.bars == work.spans;
    let said = if whole {
        "all of it".to_owned()
    } else {
        let joint = if turn.kind == TurnKind::LookAlikes {
            " and "
        } else {
            ", "
        };
        let all: Vec<String> = turn.bars.iter().map(|span| work.say(*span)).collect();
        all.join(joint)
    };
    match (asked.works.len() > 1, said.is_empty()) {
        (false, _) => said,
        (true, true) => plain(&work.title),
        (true, false) => format!("{}, {said}", plain(&work.title)),
    }
}

/// How a turn goes beyond what its kind says: the drill, the scale, what differs.
pub(super) fn how(turn: &Turn) -> String {
    match turn.kind {
        TurnKind::Spot => turn
            .drill
            .map_or_else(String::new, |kind| kind.words().to_owned()),
        TurnKind::WarmUp => plain(&turn.about),
        TurnKind::LookAlikes => turn.why.clone(),
        _ => String::new(),
    }
}

/// The milestones, each with its name.
pub(super) fn milestones(asked: &Asked, plan: &Plan) -> Vec<(String, String)> {
    let mut said = Vec::new();
    let mut add = |name: &str, text: String| said.push((name.to_owned(), text));
    if let Some(by) = plan.met_by {
        let given_up = |left: &practice::plan::Left| matches!(left.why, LeftWhy::Returns | LeftWhy::Easy);
        let name = if plan.left.iter().any(given_up) {
            "bars met"
        } else {
            "every bar met"
        };
        add(name, format!("by {}", day(by)));
    }
    if let Some(by) = plan.goal_by {
        let goals: Vec<String> = asked
            .works
            .iter()
            .filter_map(|work| work.rungs().last())
            .map(|rung| format!("{} = {}", rung.beat.sign(), rung.bpm))
            .collect();
        let early = if plan.calendar.goal_is_early {
            ", two weeks early"
        } else {
            ""
        };
        add(
            "goal tempo",
            format!("{} by {}{early}", goals.join(" and "), day(by)),
        );
    }
    if asked.works.iter().all(|work| work.rungs().is_empty()) {
        add(
            "goal tempo",
            "none is marked: ask your teacher for one".to_owned(),
        );
    }
    if !plan.mocks.is_empty() {
        let days: Vec<String> = plan.mocks.iter().map(|date| day(*date)).collect();
        add("mock performances", days.join(", "));
    }
    said
}

/// The line under the title: `40 minutes a day`, `the audition on Saturday, 13 February 2027`, `79 days to go`.
pub(super) fn facts(asked: &Asked) -> Vec<String> {
    let days = (asked.until - asked.today).num_days();
    vec![
        format!("{} on {}", upper(asked.occasion.words()), long_day(asked.until)),
        format!("{days} day{} to go", if days == 1 { "" } else { "s" }),
        format!(
            "{} minute{} a day",
            asked.minutes,
            if asked.minutes == 1 { "" } else { "s" }
        ),
    ]
}

pub(super) fn upper(text: &str) -> String {
    crate::html::capital(text)
}

/// The titles of all works; cuts of one piece together: `Kite Weather, cut A, cut B`.
pub(super) fn title(asked: &Asked) -> String {
    const CUT: &str = ", cut ";
    let mut out = String::new();
    let mut piece = String::new();
    for work in &asked.works {
        let title = plain(&work.title);
        match title.rsplit_once(CUT) {
            Some((of, cut)) if !out.is_empty() && of == piece => {
                out.push_str(CUT);
                out.push_str(cut);
            }
            split => {
                if !out.is_empty() {
                    out.push_str(" · ");
                }
                out.push_str(&title);
                split.map_or("", |(of, _)| of).clone_into(&mut piece);
            }
        }
    }
    out
}

/// A title from a file without signs that steer a terminal or end a line.
fn plain(title: &str) -> String {
    let words = title.split(|c: char| c.is_whitespace() || c.is_control());
    words
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}
