//! How is the score barred? Measures, their labels and bar lines, endings, breaks, and rests over several bars.

use super::music::{Music, Target};
use super::text::words;
use super::values::short;
use crate::assemble::{self, PartBar};
use crate::report::Why;
use crate::xml::El;
use notation::{
    BarGroup, BarGroupKind, BarIndex, BarSide, Barline, Ending, EndingKind, EventKind, IdKind, Origin, Place,
    Quarters, Repeat, Severity,
};

/// More bars than one rest ever covers.
const MOST_REST: u32 = 2_000;

impl<'a> Music<'a> {
    /// Reads one `<measure>`.
    pub(super) fn measure(&mut self, el: El<'_, 'a>) {
        let children = self.content(el);
        self.measures.push(BarIndex::from_usize(self.bars));
        let label = self.own_label(el).unwrap_or_else(|| self.label(el, &children));
        let implicit = self
            .own_uncounted(el)
            .unwrap_or_else(|| self.is_uncounted(el, &label));
        self.begin_bar(Some(el), label.clone(), implicit);
        self.name(el, Target::Bar(self.bar));
        if let Some(form) = el.attr("left") {
            self.bar_line(form, BarSide::Left, Quarters::ZERO, None);
        }
        self.gather_tuplet_spans(&children);
        let rest = self.bars_of_rest(&children);
        let mut staves = 0_usize;
        for child in &children {
            self.measure_child(*child, &mut staves);
        }
        if let Some(copied) = el.attr("copyof") {
            self.not_copied("measure", copied);
        }
        self.own_bar_length(el);
        self.end_bar();
        if rest > 1 {
            self.rest_on(&label, rest);
        }
        if let Some(form) = el.attr("right") {
            self.bar_line(form, BarSide::Right, Quarters::ZERO, None);
        }
        self.own_lines(el);
        self.count_section_end();
    }

    fn measure_child(&mut self, child: El<'_, 'a>, staves: &mut usize) {
        match child.name() {
            "staff" => {
                *staves += 1;
                self.staff(child, *staves);
            }
            "ossia" => {
                for inner in self.content(child) {
                    match inner.name() {
                        "staff" | "layer" => {
                            *staves += usize::from(inner.name() == "staff");
                            self.staff(inner, *staves);
                        }
                        other => self.unread(other, "ossia", Why::NoPlace),
                    }
                }
            }
            // The printed bar number: read with the label.
            "mNum" => {}
            "sb" | "pb" | "cb" => self.unread(child.name(), "measure", Why::NoPlace),
            "staffDef" => self.staff_def_here(child),
            "scoreDef" => self.score_def(child),
            "annot" if self.own.is_none() => self.unread("annot", "measure", Why::NoPlace),
            _ => self.control(child),
        }
    }

    /// A definition inside a measure: from here on.
    fn staff_def_here(&mut self, el: El<'_, 'a>) {
        let before = std::mem::take(&mut self.pending);
        self.staff_def(el);
        self.apply_pending();
        self.pending = before;
    }

    pub(super) fn not_copied(&mut self, what: &str, of: &str) {
        let what = format!(
            "this {what} is to be a copy of “{}”, which is not copied here",
            short(of)
        );
        self.find(
            Severity::Caution,
            "copy-not-read",
            None,
            Quarters::ZERO,
            what,
            "look at the page for what belongs here",
        );
    }

    /// The printed number, else the measure's own, else one more than that of the bar before.
    fn label(&mut self, el: El<'_, 'a>, children: &[El<'_, 'a>]) -> String {
        let printed = children
            .iter()
            .find(|child| child.name() == "mNum")
            .map(|child| words(self.text, *child));
        let label = printed
            .filter(|label| !label.is_empty())
            .or_else(|| el.attr("n").filter(|n| !n.is_empty()).map(str::to_owned));
        let numbered = label.is_some();
        let label = label.map_or_else(
            || self.number.saturating_add(1).to_string(),
            |label| label.chars().take(40).collect(),
        );
        let number = label.parse::<u64>().ok();
        if numbered && number == self.first_unnumbered {
            self.uncount();
        }
        if numbered {
            self.first_unnumbered = None;
            self.unnumbered = 0;
        } else {
            self.first_unnumbered = self.first_unnumbered.or(number);
            self.unnumbered += 1;
        }
        self.number = number.unwrap_or(self.number);
        label
    }

    /// The bars before this one have no numbers, and this one has that which the first of them would have: they are
    /// not counted. Their labels are as usual in MusicXML: 0 for a pickup, X1, X2 elsewhere.
    fn uncount(&mut self) {
        let from = self.bars.saturating_sub(self.unnumbered);
        for bar in from..self.bars {
            self.uncounted += u64::from(bar > 0);
            let label = if bar == 0 {
                "0".to_owned()
            } else {
                format!("X{}", self.uncounted)
            };
            let bar = self.score.bar_mut(bar);
            (bar.label, bar.implicit) = (label, true);
        }
    }

    /// A pickup or a part of a bar: the metre is not filled on purpose and the bar not counted.
    fn is_uncounted(&self, el: El<'_, 'a>, label: &str) -> bool {
        if self.bars == 0 && el.attr("n") == Some("0") {
            return true;
        }
        if el.attr("metcon") != Some("false") {
            return false;
        }
        let before = self
            .bars
            .checked_sub(1)
            .map(|bar| self.score.piece.label(BarIndex::from_usize(bar)));
        let counted = el.attr("n").is_some() && label != "0" && label.bytes().all(|b| b.is_ascii_digit());
        self.bars == 0 || !counted || before == Some(label)
    }

    /// Begins the next bar.
    fn begin_bar(&mut self, el: Option<El<'_, 'a>>, label: String, implicit: bool) {
        let index = self.bars;
        self.bars += 1;
        self.bar = BarIndex::from_usize(index);
        let new = index >= self.score.piece.bars.len();
        let (system, page) = (
            std::mem::take(&mut self.new_system),
            std::mem::take(&mut self.new_page),
        );
        let kept = index > 0 || self.own.is_some();
        let bar = self.score.bar_mut(index);
        bar.implicit |= implicit;
        // A break before the first bar is where the page begins.
        bar.new_system |= system && kept;
        bar.new_page |= page && kept;
        if new {
            let id = bar.id;
            bar.label = label;
            if let Some(el) = el {
                let origin = Origin {
                    range: Some(el.range()),
                    foreign_id: super::values::id_of(el).map(std::borrow::Cow::into_owned),
                    ..Origin::default()
                };
                self.score.piece.provenance.origins.insert(id, origin);
            }
        }
        for state in self.parts.iter_mut().skip(self.active_from) {
            state.first_event = state.part.events.len();
            state.whole_rest = None;
            state.end = Quarters::ZERO;
            for voice in &mut state.voices {
                voice.reach = Quarters::ZERO;
                voice.bar_space = None;
            }
        }
        for staff in &mut self.staves {
            staff.altered.clear();
        }
        self.apply_pending();
        self.start_endings();
    }

    /// Ends the bar: what each part holds in it.
    fn end_bar(&mut self) {
        let bar = self.bar;
        for state in self.parts.iter_mut().skip(self.active_from) {
            while state.facts.len() < bar.get() {
                state.facts.push(PartBar {
                    metre: state.metre,
                    ..PartBar::default()
                });
            }
            assemble::mark_after_graces(&mut state.part, state.first_event);
            assemble::mark_lone_rests(&mut state.part, state.first_event, state.metre);
            let content = state.end;
            for voice in &mut state.voices {
                if let Some(space) = voice
                    .bar_space
                    .take()
                    .and_then(|at| state.part.events.get_mut(at))
                {
                    space.duration = if content.is_positive() {
                        content
                    } else {
                        state.metre.unwrap_or_default()
                    };
                } else if voice.reach.is_positive() && voice.reach < content {
                    voice.incomplete += 1;
                    voice.first_incomplete.get_or_insert(bar);
                }
            }
            state.facts.push(PartBar {
                content,
                metre: state.metre,
                whole_rest: state.whole_rest,
                section_end: false,
            });
            if let Some(metre) = state.next_metre.take() {
                state.metre = metre;
            }
        }
    }

    /// How many bars the measure stands for: more than one only if every staff rests for so many.
    fn bars_of_rest(&mut self, children: &[El<'_, 'a>]) -> u32 {
        let mut most = None;
        let mut all = true;
        for staff in children.iter().filter(|child| child.name() == "staff") {
            let layers = self.content(*staff);
            let inner: Vec<El<'_, 'a>> = layers
                .iter()
                .filter(|child| child.name() == "layer")
                .flat_map(|layer| layer.children())
                .collect();
            let number = inner
                .iter()
                .find(|child| child.name() == "multiRest")
                .and_then(|rest| rest_bars(*rest));
            match number {
                Some(number) => most = most.max(Some(number)),
                None => all &= inner.is_empty(),
            }
        }
        let rest = most.unwrap_or(1);
        if rest > 1 && !all {
            self.find(
                Severity::Caution,
                "multi-rest-contradicts",
                None,
                Quarters::ZERO,
                format!("one staff rests for {rest} bars in a single measure of the file, while another has notes; one bar was taken"),
                "count the bars on the page",
            );
            return 1;
        }
        rest
    }

    /// The further bars of a rest over several bars.
    fn rest_on(&mut self, label: &str, bars: u32) {
        let first = label.parse::<u64>().ok();
        for nth in 1..bars {
            if self.bars >= assemble::MOST_BARS || self.score.taken > assemble::MOST_EVENTS {
                return;
            }
            let label = first.map_or_else(
                || format!("{label}+{nth}"),
                |first| first.saturating_add(u64::from(nth)).to_string(),
            );
            self.begin_bar(None, label, false);
            for part in self.active_from..self.parts.len() {
                let rested = self.parts.get(part).and_then(|state| {
                    let before = state.facts.len().checked_sub(1)?;
                    let rest = state.facts.get(before)?.whole_rest?;
                    state.part.events.get(rest as usize).cloned()
                });
                let Some(mut rest) = rested else { continue };
                rest.id = self.score.piece.ids.give(IdKind::Event);
                rest.place = Place::start_of(self.bar);
                rest.kind = EventKind::Rest { whole_bar: true };
                rest.fermatas.clear();
                self.score.taken += 1;
                if let Some(state) = self.parts.get_mut(part) {
                    state.whole_rest = u32::try_from(state.part.events.len()).ok();
                    state.part.events.push(rest);
                }
            }
            self.end_bar();
        }
    }

    /// A group of bars of a part that starts here. Measure repeats that follow each other are one group.
    pub(super) fn bar_group(&mut self, part: usize, kind: BarGroupKind, bars: u32) {
        let start = self.bar;
        let id = self.score.piece.ids.give(IdKind::Span);
        let Some(state) = self.parts.get_mut(part) else {
            return;
        };
        if let Some(last) = state.part.bar_groups.last_mut() {
            if last.kind == kind && last.start == start {
                return;
            }
            if last.kind == kind
                && kind != BarGroupKind::MultiRest
                && last.start.0.saturating_add(last.bars) == start.0
            {
                last.bars = last.bars.saturating_add(bars);
                return;
            }
        }
        state.part.bar_groups.push(BarGroup {
            id,
            start,
            bars,
            kind,
        });
    }

    /// The bar line of a part on one side of this bar, made if it is not there yet.
    pub(super) fn line_of(&mut self, part: usize, side: BarSide, offset: Quarters) -> Option<&mut Barline> {
        let place = Place {
            bar: self.bar,
            offset: if side == BarSide::Right {
                self.parts.get(part)?.end
            } else {
                offset
            },
        };
        let lines = &self.parts.get(part)?.lines;
        let from = lines.len().saturating_sub(8);
        let known = lines.iter().skip(from).position(|line| {
            line.place.bar == place.bar
                && line.side == side
                && (side != BarSide::Middle || line.place.offset == offset)
        });
        let at = match known {
            Some(known) => from + known,
            None => {
                let id = self.score.piece.ids.give(IdKind::Barline);
                self.score.taken += 1;
                let lines = &mut self.parts.get_mut(part)?.lines;
                lines.push(Barline {
                    id,
                    part,
                    place,
                    side,
                    style: None,
                    repeat: None,
                    ending: None,
                    fermatas: Vec::new(),
                    segno: None,
                    coda: None,
                });
                lines.len() - 1
            }
        };
        self.parts.get_mut(part)?.lines.get_mut(at)
    }

    /// A bar line by MEI's name of its form, for one part or all.
    /// Source: MEI 5.0, data.BARRENDITION; the styles are those of MusicXML 4.0, bar-style.
    pub(super) fn bar_line(&mut self, form: &str, side: BarSide, offset: Quarters, part: Option<usize>) {
        let (style, repeat, segno) = match form {
            "single" | "" => return,
            "dashed" => ("dashed", None, false),
            "dotted" => ("dotted", None, false),
            "dbl" => ("light-light", None, false),
            "dbldashed" | "dbldotted" => (form, None, false),
            "dblheavy" => ("heavy-heavy", None, false),
            "heavy" => ("heavy", None, false),
            "end" => ("light-heavy", None, false),
            "invis" => ("none", None, false),
            "rptstart" => ("heavy-light", Some(true), false),
            "rptend" | "rptboth" => ("light-heavy", Some(false), false),
            "segno" => ("", None, true),
            "dblsegno" => ("light-light", None, true),
            other => {
                let what = format!(
                    "the bar line “{}” is not known; it was read as a plain one",
                    short(other)
                );
                self.find(
                    Severity::Caution,
                    "bar-line-unclear",
                    part,
                    offset,
                    what,
                    "look at the bar line on the page",
                );
                return;
            }
        };
        // A sign that starts a repeat stands at the start of the next bar, wherever the file has it.
        let side = match side {
            BarSide::Right if repeat == Some(true) && self.own.is_none() => {
                self.order.repeat_from_next = true;
                return;
            }
            BarSide::Left if self.own.is_none() && (form == "rptboth" || repeat == Some(false)) => {
                return self.ends_before(form);
            }
            side => side,
        };
        if form == "rptboth" {
            self.order.repeat_from_next = true;
        }
        let parts = part.map_or(self.active_from..self.parts.len(), |part| part..part + 1);
        for part in parts {
            let Some(line) = self.line_of(part, side, offset) else {
                continue;
            };
            if !style.is_empty() {
                line.style = Some(style.to_owned());
            }
            if let Some(forward) = repeat {
                line.repeat = Some(Repeat {
                    forward,
                    times: None,
                    after_jump: None,
                });
            }
            if segno {
                line.segno = Some(String::new());
            }
        }
    }

    /// A repeat's end written at the left of a bar belongs to the bar before.
    fn ends_before(&mut self, form: &str) {
        if form == "rptboth" {
            self.bar_line("rptstart", BarSide::Left, Quarters::ZERO, None);
        }
        let here = self.bar;
        let Some(before) = here.0.checked_sub(1) else {
            return;
        };
        self.bar = BarIndex(before);
        self.bar_line("rptend", BarSide::Right, Quarters::ZERO, None);
        self.count_section_end();
        self.bar = here;
    }

    /// Notes for the checks at the end where a bar line ends a section.
    fn count_section_end(&mut self) {
        let bar = self.bar;
        for state in self.parts.iter_mut().skip(self.active_from) {
            let ends = state.lines.iter().rev().take(8).any(|line| {
                let heavy = line
                    .style
                    .as_deref()
                    .is_some_and(|style| style.contains("light") || style.contains("heavy"));
                line.place.bar == bar && line.side == BarSide::Right && heavy
            });
            if let Some(facts) = state.facts.get_mut(bar.get()) {
                facts.section_end |= ends;
            }
        }
    }

    /// Opens the brackets and repeats that begin with this bar.
    fn start_endings(&mut self) {
        if std::mem::take(&mut self.order.repeat_from_next) {
            self.bar_line("rptstart", BarSide::Left, Quarters::ZERO, None);
        }
        let bar = self.bar;
        let mut starting: Option<(String, String)> = None;
        for ending in &mut self.order.endings {
            if ending.first.is_none() {
                ending.first = Some(bar);
                starting = Some((ending.number.clone(), ending.text.clone()));
            }
        }
        if let Some((number, text)) = starting {
            self.mark_ending(
                BarSide::Left,
                Ending {
                    number,
                    text,
                    kind: EndingKind::Start,
                },
            );
        }
    }

    /// One end of a bracket, in every part.
    pub(super) fn mark_ending(&mut self, side: BarSide, ending: Ending) {
        for part in self.active_from..self.parts.len() {
            if let Some(line) = self.line_of(part, side, Quarters::ZERO) {
                line.ending = Some(ending.clone());
            }
        }
    }
}

/// Bars that a `multiRest` covers.
pub(super) fn rest_bars(el: El<'_, '_>) -> Option<u32> {
    el.attr("num")
        .and_then(|text| text.parse().ok())
        .filter(|n| (1..=MOST_REST).contains(n))
}
