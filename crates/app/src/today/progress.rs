//! How far is it, bar by bar? A picture: the bars from left to right, the tempo from the first reading up to the goal; where a bar
//! is in hand a pencilled column stands that high, where it was played and is not yet a ring; below it, when last.
//!
//! In hand, as the plan has it: right three times in a row, or, where nobody counted, it felt easy.

use crate::days;
use maud::{Markup, PreEscaped, html};
use notation::BarIndex;
use practice::plan::{Asked, CLEAN, Date, Entry, Felt, Work, beats_a_minute};
use std::fmt::Write as _;

/// What is known of one bar.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
struct Bar {
    /// The last tempo at which it was in hand, in quarter notes a minute.
    clean: Option<f64>,
    /// The tempo of the last visit, if it was not then.
    tried: Option<f64>,
    /// The day of the last visit.
    last: Option<Date>,
    /// How often it was visited.
    visits: usize,
}

/// Bars in a row of the picture.
const ROW: usize = 24;
/// Sizes in units of the drawing.
const BAR: f64 = 34.0;
const HIGH: f64 = 120.0;
const LEFT: f64 = 78.0;
const FOOT: f64 = 40.0;
const HEAD: f64 = 14.0;

/// The picture of a work from what was done up to a day, and the same in words.
pub(crate) fn picture(asked: &Asked, number: usize, today: Date) -> Markup {
    let Some(work) = asked.works.get(number) else {
        return html! {};
    };
    let bars = bars(asked, number);
    let learnt: Vec<BarIndex> = work.bars().filter(|bar| work.notes_in(*bar) > 0).collect();
    let met = learnt.iter().filter(|bar| of(&bars, **bar).visits > 0).count();
    let at_goal = learnt
        .iter()
        .filter(|bar| at_goal(work, &of(&bars, **bar)))
        .count();
    let sum = sum(met, at_goal, learnt.len(), !work.rungs().is_empty());
    html! {
        figure class="progress" {
            figcaption { b { (work.title) } ": " (sum) "." }
            div class="wide" role="img" aria-label={ (work.title) ", progress by bars. " (sum) ". The table after the picture has each bar." } {
                @for row in learnt.chunks(ROW) { (PreEscaped(row_drawn(work, row, &bars, today))) }
            }
            p class="key" {
                span class="key-clean" aria-hidden="true" {} " in hand so fast: three times in a row, or it felt easy "
                span class="key-tried" aria-hidden="true" {} " played, not yet in hand "
                "— under each bar its number, and when it was last played"
            }
            details class="in-words" {
                summary { "The same in words" }
                (table(work, &learnt, &bars, today))
            }
        }
    }
}

fn sum(met: usize, at_goal: usize, all: usize, has_goal: bool) -> String {
    let met = if met == all {
        format!("all {all} bars met")
    } else {
        format!("{met} of {all} bars met")
    };
    if has_goal {
        format!("{met}, {at_goal} at the goal tempo")
    } else {
        met
    }
}

fn of(bars: &[Bar], bar: BarIndex) -> Bar {
    bars.get(bar.get()).copied().unwrap_or_default()
}

fn at_goal(work: &Work, bar: &Bar) -> bool {
    // The metronome's marks lie four in a hundred apart: a goal is reached within half of that.
    !work.rungs().is_empty() && bar.clean.is_some_and(|clean| clean >= work.goal_speed() * 0.98)
}

/// What the log says of each bar.
fn bars(asked: &Asked, number: usize) -> Vec<Bar> {
    let count = asked.works.get(number).map_or(0, |work| work.labels.len());
    let mut bars = vec![Bar::default(); count];
    let mut log: Vec<&Entry> = asked
        .log
        .iter()
        .filter(|(of, _)| *of == number)
        .map(|(_, entry)| entry)
        .collect();
    log.sort_by_key(|entry| entry.date);
    for entry in log {
        let span = entry.span.from.get()..=entry.span.to.get();
        for bar in span.filter(|at| *at < count) {
            if let Some(bar) = bars.get_mut(bar) {
                bar.see(entry);
            }
        }
    }
    bars
}

impl Bar {
    fn see(&mut self, entry: &Entry) {
        self.visits += 1;
        self.last = Some(entry.date);
        let clean = match entry.clean {
            Some(times) => times >= CLEAN,
            None => entry.felt == Some(Felt::Easy),
        };
        if clean {
            self.clean = entry.speed.or(self.clean);
            self.tried = None;
        } else {
            self.tried = entry.speed.or(self.tried);
        }
    }
}

/// How high a tempo stands, from 0 (nothing) to 1 (the goal); the first reading's at a quarter, so that it is seen.
fn height(work: &Work, speed: f64) -> f64 {
    let (first, goal) = (work.first_speed(), work.goal_speed());
    if goal <= first * 1.01 {
        return (speed / goal.max(1.0)).clamp(0.05, 1.08);
    }
    (0.25 + 0.75 * (speed - first) / (goal - first)).clamp(0.05, 1.08)
}

fn row_drawn(work: &Work, row: &[BarIndex], bars: &[Bar], today: Date) -> String {
    let wide = LEFT + real(row.len()) * BAR + 8.0;
    let full = LEFT + real(ROW) * BAR + 8.0;
    let high = HEAD + HIGH + FOOT;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {full:.0} {high:.0}\" class=\"bars-drawn\" aria-hidden=\"true\">"
    );
    let floor = HEAD + HIGH;
    let y = |speed: f64| floor - height(work, speed) * HIGH;
    // Writing to a string can't fail.
    let mut line = |at: f64, class: &str, words: &str| {
        let _ = write!(
            out,
            "<path class=\"{class}\" d=\"M{LEFT:.0} {at:.1}H{:.0}\"/><text class=\"tempo\" x=\"{:.0}\" y=\"{:.1}\">{}</text>",
            wide - 8.0,
            LEFT - 6.0,
            at + 4.0,
            escaped(words)
        );
    };
    line(floor, "floor", "");
    if work.first.is_some() {
        line(y(work.first_speed()), "first", &tempo(work, work.first_speed()));
    }
    if !work.rungs().is_empty() {
        line(y(work.goal_speed()), "goal", &tempo(work, work.goal_speed()));
    }
    for (at, index) in row.iter().enumerate() {
        let bar = of(bars, *index);
        let x = LEFT + real(at) * BAR;
        out.push_str(&bar_drawn(&bar, x, floor, y));
        let middle = x + BAR / 2.0;
        let _ = write!(
            out,
            "<text class=\"number\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text><text class=\"last\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>",
            floor + 16.0,
            escaped(work.label(*index)),
            floor + 32.0,
            bar.last
                .map_or_else(|| "–".to_owned(), |last| shortly(last, today))
        );
    }
    out.push_str("</svg>");
    out
}

/// A column of pencil strokes up to the clean tempo, and a ring where it was tried.
fn bar_drawn(bar: &Bar, x: f64, floor: f64, y: impl Fn(f64) -> f64) -> String {
    let mut out = String::new();
    let (left, right) = (x + 5.0, x + BAR - 5.0);
    if let Some(clean) = bar.clean {
        let top = y(clean);
        let _ = write!(
            out,
            "<path class=\"column\" d=\"M{left:.1} {floor:.1}V{top:.1}H{right:.1}V{floor:.1}\"/>"
        );
        let mut at = floor - 4.0;
        let mut strokes = String::new();
        while at > top + 3.0 {
            let up = (at - 6.0).max(top);
            let _ = write!(strokes, "M{left:.1} {at:.1}L{right:.1} {up:.1}");
            at -= 7.0;
        }
        let _ = write!(
            out,
            "<path class=\"strokes\" d=\"{strokes}\"/><path class=\"top\" d=\"M{left:.1} {top:.1}H{right:.1}\"/>"
        );
    }
    if let Some(tried) = bar.tried {
        let middle = f64::midpoint(left, right);
        let _ = write!(
            out,
            "<ellipse class=\"tried\" cx=\"{middle:.1}\" cy=\"{:.1}\" rx=\"7\" ry=\"5.4\"/>",
            y(tried)
        );
    }
    out
}

fn tempo(work: &Work, speed: f64) -> String {
    let beat = work
        .rungs()
        .first()
        .map(|rung| rung.beat)
        .or(work.first.map(|(beat, _)| beat));
    let sign = beat.map_or_else(|| "♩".to_owned(), |beat| beat.sign().to_string());
    format!("{sign} = {:.0}", beats_a_minute(work, speed))
}

/// `today`, `3 d`, `5 w`: there is little room under a bar.
fn shortly(last: Date, today: Date) -> String {
    match (today - last).num_days() {
        days if days <= 0 => "today".to_owned(),
        days if days < 21 => format!("{days} d"),
        days => format!("{} w", days / 7),
    }
}

fn table(work: &Work, learnt: &[BarIndex], bars: &[Bar], today: Date) -> Markup {
    html! {
        table {
            thead { tr { th scope="col" { "bar" } th scope="col" { "in hand at" } th scope="col" { "played at, not yet in hand" } th scope="col" { "last" } th scope="col" { "visits" } } }
            tbody {
                @for index in learnt {
                    @let bar = of(bars, *index);
                    tr {
                        th scope="row" { (work.label(*index)) }
                        td { (bar.clean.map_or_else(|| "–".to_owned(), |speed| tempo(work, speed))) }
                        td { (bar.tried.map_or_else(|| "–".to_owned(), |speed| tempo(work, speed))) }
                        td { (bar.last.map_or_else(|| "not yet".to_owned(), |last| days::far(last, today))) }
                        td { (bar.visits) }
                    }
                }
            }
        }
    }
}

fn escaped(words: &str) -> String {
    html! { (words) }.into_string()
}

fn real(number: usize) -> f64 {
    u32::try_from(number).map_or(0.0, f64::from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use practice::BarSpan;
    use practice::plan::{DaysOff, Occasion};
    use survey::metre::BeatUnit;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn asked(log: Vec<Entry>) -> Asked {
        let work = Work {
            title: "<b>Air</b>".to_owned(),
            labels: ["1", "2", "3<i>"].map(str::to_owned).to_vec(),
            notes: vec![4, 4, 4],
            plays: vec![1; 3],
            spans: vec![BarSpan::new(BarIndex(0), BarIndex(2))],
            first: Some((BeatUnit::QUARTER, 60)),
            ..Work::default()
        };
        Asked {
            today: day("2027-01-10"),
            begun: day("2027-01-04"),
            until: day("2027-02-10"),
            occasion: Occasion::Recital,
            minutes: 30,
            off: DaysOff::default(),
            family: None,
            works: vec![work],
            log: log.into_iter().map(|entry| (0, entry)).collect(),
        }
    }

    fn entry(date: &str, from: u32, to: u32, speed: f64, clean: u32) -> Entry {
        Entry {
            date: day(date),
            span: BarSpan::new(BarIndex(from), BarIndex(to)),
            speed: Some(speed),
            clean: Some(clean),
            felt: None,
            drill: None,
        }
    }

    #[test]
    fn the_last_visit_says_where_a_bar_stands() {
        let asked = asked(vec![
            entry("2027-01-06", 0, 1, 66.0, 3),
            entry("2027-01-05", 0, 0, 60.0, 3),
            entry("2027-01-08", 1, 1, 72.0, 0),
        ]);
        let bars = bars(&asked, 0);
        assert_eq!(
            (bars[0].clean, bars[0].tried, bars[0].visits),
            (Some(66.0), None, 2)
        );
        assert_eq!((bars[1].clean, bars[1].tried), (Some(66.0), Some(72.0)));
        assert_eq!(bars[1].last, Some(day("2027-01-08")));
        assert_eq!(bars[2], Bar::default());
    }

    #[test]
    fn without_a_count_only_what_felt_easy_is_in_hand() {
        let felt = |felt: Felt| Entry {
            clean: None,
            felt: Some(felt),
            ..entry("2027-01-06", 0, 0, 66.0, 0)
        };
        assert_eq!(bars(&asked(vec![felt(Felt::Easy)]), 0)[0].clean, Some(66.0));
        let steady = bars(&asked(vec![felt(Felt::Steady)]), 0)[0];
        assert_eq!((steady.clean, steady.tried), (None, Some(66.0)));
    }

    #[test]
    fn the_picture_says_the_same_in_words_and_names_are_no_markup() {
        let asked = asked(vec![entry("2027-01-06", 0, 1, 66.0, 3)]);
        let shown = picture(&asked, 0, day("2027-01-10")).into_string();
        assert!(shown.contains("2 of 3 bars met"), "{shown}");
        assert!(shown.contains("4 d"), "four days ago");
        assert!(shown.contains("not yet"));
        assert!(
            !shown.contains("<b>Air") && !shown.contains("3<i>"),
            "words of a file are words"
        );
        assert!(shown.contains("&lt;b&gt;Air"));
    }
}
