//! How loud, and where does that change? Levels in order, hairpins, words, sudden changes.

mod changes;
mod hairpins;
mod marks;

pub use changes::SuddenChange;
pub use hairpins::{GradualWord, Hairpin};
pub use marks::DynamicMark;

use crate::{Context, Evidence};
use ::terms::dynamics::DynamicKind;
use notation::{BarIndex, Finding, Severity};

/// The answer to question 8.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct DynamicsAnswer {
    /// Every mark in order, compound ones as one (`poco f`).
    pub marks: Vec<DynamicMark>,
    /// The loudest level, as an index into `marks` (its first appearance).
    pub loudest: Option<usize>,
    /// The softest level.
    pub softest: Option<usize>,
    /// The levels used, from the softest, with how often each is printed.
    pub levels: Vec<(String, usize)>,
    /// Hairpins in order.
    pub hairpins: Vec<Hairpin>,
    /// Words that change the loudness over time (cresc., dim.), in order.
    pub words: Vec<GradualWord>,
    /// Changes of two levels and more that nothing prepares, and those marked sudden.
    pub sudden: Vec<SuddenChange>,
    /// Bars that carry a hairpin or a part of one.
    pub hairpin_bars: Vec<BarIndex>,
    /// True if no level stands at the first note or in its bar.
    pub starts_without: bool,
    /// What it means for the player.
    pub means: String,
    /// Where to look.
    pub evidence: Vec<Evidence>,
    /// What is missing or contradicts itself.
    pub findings: Vec<Finding>,
}

/// Answers question 8 for a part.
#[must_use]
pub fn answer(ctx: &Context) -> DynamicsAnswer {
    let marks = marks::marks(ctx);
    let words = hairpins::gradual_words(ctx);
    let hairpins = hairpins::hairpins(ctx, &marks, &words);
    let level = |pick: fn(&(usize, &DynamicMark), &(usize, &DynamicMark)) -> bool| {
        let levels = marks.iter().enumerate().filter(|(_, mark)| mark.is_level());
        levels
            .reduce(|best, here| if pick(&here, &best) { here } else { best })
            .map(|(index, _)| index)
    };
    let mut answer = DynamicsAnswer {
        loudest: level(|here, best| here.1.loudness > best.1.loudness),
        softest: level(|here, best| here.1.loudness < best.1.loudness),
        levels: levels(&marks),
        sudden: changes::sudden(ctx, &marks, &hairpins, &words),
        hairpin_bars: hairpins::bars(ctx, &hairpins),
        starts_without: starts_without(ctx, &marks),
        marks,
        hairpins,
        words,
        ..DynamicsAnswer::default()
    };
    answer.findings = findings(ctx, &answer);
    answer.evidence = evidence(&answer);
    answer.means = means(ctx, &answer);
    answer
}

fn levels(marks: &[DynamicMark]) -> Vec<(String, usize)> {
    let mut levels: Vec<(&DynamicMark, usize)> = Vec::new();
    for mark in marks.iter().filter(|mark| mark.kind == DynamicKind::Level) {
        match levels.iter_mut().find(|(known, _)| known.mark == mark.mark) {
            Some((_, count)) => *count += 1,
            None => levels.push((mark, 1)),
        }
    }
    levels.sort_by_key(|(mark, _)| mark.loudness);
    levels
        .into_iter()
        .map(|(mark, count)| (mark.mark.clone(), count))
        .collect()
}

fn starts_without(ctx: &Context, marks: &[DynamicMark]) -> bool {
    let Some(first) = ctx.line.first() else {
        return false;
    };
    // A mark drawn a little late in the first bar is meant for its beginning.
    let first_bar = ctx.event(first).map(|event| event.place.bar);
    !marks.iter().any(|mark| {
        mark.is_level() && (ctx.onset(mark.place) <= first.onset || Some(mark.place.bar) == first_bar)
    })
}

fn findings(ctx: &Context, answer: &DynamicsAnswer) -> Vec<Finding> {
    let name = &ctx.part.name;
    let mut findings = Vec::new();
    if ctx.line.is_empty() {
        return findings;
    }
    if answer.marks.is_empty() && answer.hairpins.is_empty() && answer.words.is_empty() {
        findings.push(
            Finding::new(
                Severity::Note,
                "no-dynamics",
                "no dynamics are printed",
                "agree on a level and a shape for each phrase before the first reading",
            )
            .in_part(name),
        );
    } else if answer.starts_without {
        let mut finding = Finding::new(
            Severity::Note,
            "no-first-dynamic",
            match answer.marks.iter().find(|mark| mark.is_level()) {
                Some(first) => format!(
                    "no dynamic stands at the first note; the first is {} in bar {}",
                    first.mark,
                    ctx.label(first.place.bar)
                ),
                None => "no dynamic level stands at the first note".to_owned(),
            },
            "settle how loud to begin",
        )
        .in_part(name);
        if let Some(event) = ctx.line.first().and_then(|note| ctx.event(note)) {
            finding = finding
                .at_bar(event.place.bar, ctx.label(event.place.bar))
                .about(event.id);
        }
        findings.push(finding);
    }
    findings.extend(
        answer
            .hairpins
            .iter()
            .filter(|h| h.contradicts)
            .filter_map(|hairpin| {
                let place = hairpin.start?.place;
                let to = hairpin.leads_to.and_then(|index| answer.marks.get(index))?;
                let (sign, way) = if hairpin.opens {
                    ("crescendo", "softer")
                } else {
                    ("diminuendo", "louder")
                };
                Some(
                    Finding::new(
                        Severity::Caution,
                        "hairpin-contradicts",
                        format!(
                            "the {sign} that starts here leads to {}, which is {way} than the level before",
                            to.mark
                        ),
                        "take it as a swell and then a sudden change, or ask",
                    )
                    .in_part(name)
                    .at_bar(place.bar, ctx.label(place.bar))
                    .at_offset(place.offset)
                    .about(hairpin.element),
                )
            }),
    );
    findings
}

fn evidence(answer: &DynamicsAnswer) -> Vec<Evidence> {
    let mut evidence = Vec::new();
    let mut level = |index: Option<usize>, what: &str| {
        if let Some(mark) = index.and_then(|i| answer.marks.get(i)) {
            evidence.push(Evidence {
                place: Some(mark.place),
                element: Some(mark.element),
                says: format!("the {what} level, {}", mark.plain()),
            });
        }
    };
    level(answer.softest, "softest");
    level(answer.loudest, "loudest");
    for sudden in &answer.sudden {
        if let Some(to) = answer.marks.get(sudden.to) {
            evidence.push(Evidence {
                place: Some(to.place),
                element: Some(to.element),
                says: sudden.says(&answer.marks),
            });
        }
    }
    evidence
}

fn means(ctx: &Context, answer: &DynamicsAnswer) -> String {
    let mark = |index: Option<usize>| index.and_then(|i| answer.marks.get(i));
    let mut says = match (mark(answer.softest), mark(answer.loudest)) {
        (Some(soft), Some(loud)) if soft.loudness != loud.loudness => format!(
            "From {} (bar {}) to {} (bar {}).",
            soft.plain(),
            ctx.label(soft.place.bar),
            loud.plain(),
            ctx.label(loud.place.bar)
        ),
        (Some(only), _) => format!("One level only: {}.", only.plain()),
        _ => "No level is printed.".to_owned(),
    };
    let bars = answer.hairpin_bars.len();
    if bars > 0 {
        says.push_str(&format!(" Hairpins in {bars} of {} bars.", ctx.piece.bars.len()));
    }
    match answer.sudden.as_slice() {
        [] => {}
        [one] => says.push_str(&format!(" One sudden change: {}.", one.says(&answer.marks))),
        many => says.push_str(&format!(
            " {} sudden changes: look for them before playing.",
            many.len()
        )),
    }
    says
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;

    pub(super) fn ask(text: &str) -> DynamicsAnswer {
        let piece = sketch(text).expect("a sketch");
        answer(&Context::new(&piece, 0).expect("a part"))
    }

    #[test]
    fn levels_in_order_loudest_and_softest() {
        let d = ask("metre:2/4 @p C4/h | @mf D4/h | @ff E4/h | @pp F4/h | @mf G4/h |");
        let marks: Vec<&str> = d.marks.iter().map(|m| m.mark.as_str()).collect();
        assert_eq!(marks, ["p", "mf", "ff", "pp", "mf"]);
        assert_eq!((d.loudest, d.softest), (Some(2), Some(3)));
        assert_eq!(
            d.levels,
            [
                ("pp".to_owned(), 1),
                ("p".to_owned(), 1),
                ("mf".to_owned(), 2),
                ("ff".to_owned(), 1)
            ]
        );
        assert!(!d.starts_without);
    }

    #[test]
    fn compound_marks_are_one() {
        let d = ask(
            "metre:2/4 @mf \"poco\" @f C4/h | \"più_p\" D4/h | @p \"subito\" E4/h | @fp F4/h | @sfz G4/h |",
        );
        let marks: Vec<&str> = d.marks.iter().map(|m| m.mark.as_str()).collect();
        assert_eq!(marks, ["mf", "poco f", "più p", "p subito", "fp", "sfz"]);
    }

    #[test]
    fn words_beside_letters_colour_them() {
        let d = ask("metre:2/4 @pp \"sotto_voce\" C4/h | \"mezza_voce\" D4/h |");
        let marks: Vec<&str> = d.marks.iter().map(|m| m.mark.as_str()).collect();
        assert_eq!(marks, ["pp", "mezza voce"]);
    }

    #[test]
    fn the_first_note_without_a_dynamic() {
        let d = ask("metre:2/4 C4/h | @p D4/h |");
        assert_eq!(d.findings[0].kind, "no-first-dynamic");
        assert_eq!(ask("metre:2/4 C4/h |").findings[0].kind, "no-dynamics");
    }

    #[test]
    fn a_hairpin_leads_to_its_mark() {
        let d = ask("metre:4/4 @p < C4/q D4/q E4/q . @f F4/q | > G4/h . G4/h | C4/w |");
        assert_eq!(d.hairpins.len(), 2);
        let first = &d.hairpins[0];
        assert_eq!(first.leads_to.map(|i| d.marks[i].mark.as_str()), Some("f"));
        assert_eq!(first.length, Some(notation::Rational::whole(3)));
        assert_eq!(d.hairpins[1].leads_to, None);
        assert_eq!(d.hairpin_bars.iter().map(|b| b.0).collect::<Vec<_>>(), [0, 1]);
        assert!(d.sudden.is_empty(), "the crescendo prepares the f");
    }

    #[test]
    fn sudden_changes() {
        let d = ask("metre:2/4 @p C4/h | @f D4/h | @mf E4/h | \"sub.\" @mp F4/h |");
        let said: Vec<String> = d.sudden.iter().map(|s| s.says(&d.marks)).collect();
        assert_eq!(said, ["p straight to f", "mf to mp, marked sudden"]);
    }

    #[test]
    fn a_hairpin_against_its_mark_is_a_finding() {
        let d = ask("metre:4/4 @f < C4/q D4/q E4/q . @p F4/q |");
        assert!(d.findings.iter().any(|f| f.kind == "hairpin-contradicts"));
        assert_eq!(d.sudden.len(), 1, "a crescendo does not prepare a p");
    }

    #[test]
    fn words_that_change_the_loudness() {
        let d = ask("metre:2/4 @p C4/h | \"cresc.\" D4/h | E4/h | @f F4/h | \"dim._e_rit.\" G4/h |");
        let words: Vec<(&str, Option<bool>)> = d.words.iter().map(|w| (w.text.as_str(), w.louder)).collect();
        assert_eq!(words, [("cresc.", Some(true)), ("dim. e rit.", Some(false))]);
        assert!(d.sudden.is_empty());
    }
}
