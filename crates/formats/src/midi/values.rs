//! With which note values is a length written? Split where the eye needs the beat, tied; tuplets where thirds or fifths are.
//!
//! Source: common practice as engraving handbooks give it (Gould, Behind Bars, 2011, grouping of notes and rests; from
//! memory): a note may hide a beat only if it starts or ends with the group, or sits in its middle; rests hide none.

use super::metre_tree::Node;
use notation::{NoteValue, Quarters, Rational, TupletRatio, Written};

/// A note or rest of one voice in a bar, before it is split.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Segment {
    pub start: Quarters,
    pub end: Quarters,
    pub rest: bool,
}

/// One written note or rest.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Value {
    /// The segment it belongs to.
    pub segment: usize,
    pub start: Quarters,
    pub duration: Quarters,
    /// `None` where no note value fits.
    pub written: Option<Written>,
    /// The tuplet it stands in, by number in the bar.
    pub tuplet: Option<u32>,
}

/// Writes a voice's segments, which follow each other, in a bar whose metre has this tree.
pub(super) fn values(bar: &Node, segments: &[Segment]) -> Vec<Value> {
    let mut writer = Writer { tuplets: 0 };
    let clipped: Vec<Clip> = segments
        .iter()
        .enumerate()
        .map(|(segment, of)| Clip {
            segment,
            start: of.start,
            end: of.end,
            rest: of.rest,
        })
        .collect();
    writer.node(bar, &clipped, 12)
}

/// The part of a segment inside a node.
#[derive(Clone, Copy, Debug)]
struct Clip {
    segment: usize,
    start: Quarters,
    end: Quarters,
    rest: bool,
}

struct Writer {
    tuplets: u32,
}

fn is_dyadic(length: Quarters) -> bool {
    length.den() > 0 && length.den() <= 256 && length.den() & (length.den() - 1) == 0
}

impl Writer {
    fn node(&mut self, node: &Node, clips: &[Clip], depth: u8) -> Vec<Value> {
        let plain = clips
            .iter()
            .all(|clip| is_dyadic(clip.start) && is_dyadic(clip.end));
        if plain {
            let mut values = Vec::with_capacity(clips.len());
            for clip in clips {
                split(node, clip, &mut values);
            }
            return values;
        }
        let children = node.children();
        let before = self.tuplets;
        let whole = self.tuplet(node, clips);
        if children.is_empty() || depth == 0 {
            return whole.unwrap_or_else(|| bare(clips));
        }
        let after = std::mem::replace(&mut self.tuplets, before);
        // Smaller groups are easier to read, unless they need more ties.
        let mut parts = Vec::new();
        for child in &children {
            let inside = clipped(clips, child);
            if !inside.is_empty() {
                parts.extend(self.node(child, &inside, depth - 1));
            }
        }
        match whole {
            Some(whole) if cost(&whole) + off_units(node, &whole) < cost(&parts) => {
                self.tuplets = after;
                whole
            }
            _ => parts,
        }
    }

    /// The whole node as one tuplet, if it can be.
    fn tuplet(&mut self, node: &Node, clips: &[Clip]) -> Option<Vec<Value>> {
        let (first, last) = (clips.first()?, clips.last()?);
        if first.start != node.start || last.end != node.end() {
            return None;
        }
        // Parts into which the node falls: the odd part of the common denominator of its inner boundaries.
        let mut actual = 1_i64;
        for clip in clips {
            let den = ((clip.start - node.start) / node.length).den();
            let odd = den >> den.trailing_zeros().min(62);
            actual = lcm(actual, odd);
            if actual > 63 {
                return None;
            }
        }
        let base = Rational::new(node.length.num() & -node.length.num(), node.length.den());
        let units = node.length / base;
        // Two, four … in the place of three are written with dots; five or seven in the place of three or six are not.
        let mut normal = match (units.num(), units.den()) {
            (1, 1) => 1,
            (3, 1) => 3,
            _ => return None,
        };
        if actual <= normal && units == Rational::ONE || actual == 1 {
            return None;
        }
        while normal * 2 <= actual {
            normal *= 2;
        }
        let ratio = TupletRatio {
            actual: u16::try_from(actual).ok()?,
            normal: u16::try_from(normal).ok()?,
        };
        if ratio.actual == ratio.normal {
            return None;
        }
        let scale = Rational::new(actual, normal);
        let number = self.tuplets;
        let unit = node.length / Rational::whole(normal);
        let mut values = Vec::new();
        for clip in clips {
            let inner = ((clip.start - node.start) * scale, (clip.end - node.start) * scale);
            for (from, to) in inside_tuplet(inner, unit)? {
                let (value, dots) = value_of(to - from, 1)?;
                values.push(Value {
                    segment: clip.segment,
                    start: node.start + from / scale,
                    duration: (to - from) / scale,
                    written: Some(Written {
                        value,
                        dots,
                        tuplets: vec![ratio],
                    }),
                    tuplet: Some(number),
                });
            }
        }
        self.tuplets += 1;
        Some(values)
    }
}

/// Written notes, tuplets counting for a little.
fn cost(values: &[Value]) -> usize {
    let bare = values.iter().filter(|value| value.written.is_none()).count();
    values.len() + 4 * bare
}

/// Values that start between the tuplet's units, as if the group were not one of so many equal notes.
fn off_units(node: &Node, values: &[Value]) -> usize {
    let Some(ratio) = values.first().and_then(|v| v.written.as_ref()?.tuplets.first()) else {
        return 0;
    };
    let unit = node.length / Rational::whole(i64::from(ratio.actual));
    let off = |value: &&Value| !((value.start - node.start) / unit).is_whole();
    values.iter().filter(off).count()
}

/// A length in a tuplet, split at its units unless one value says it.
fn inside_tuplet((from, to): (Quarters, Quarters), unit: Quarters) -> Option<Vec<(Quarters, Quarters)>> {
    if value_of(to - from, 1).is_some() {
        return Some(vec![(from, to)]);
    }
    let mut pieces = Vec::new();
    let mut at = from;
    while at < to {
        if value_of(to - at, 1).is_some() {
            pieces.push((at, to));
            break;
        }
        let units = (to / unit).floor();
        let last = unit * Rational::whole(units);
        let next_unit = unit * Rational::whole((at / unit).floor() + 1);
        let next = if value_of(last - at, 1).is_some() && last > at && last < to {
            last
        } else if next_unit < to && value_of(next_unit - at, 1).is_some() {
            next_unit
        } else {
            at + largest(to - at)?
        };
        pieces.push((at, next));
        at = next;
        if pieces.len() > 64 {
            return None;
        }
    }
    Some(pieces)
}

/// The longest undotted value not above a length.
fn largest(length: Quarters) -> Option<Quarters> {
    NoteValue::ALL
        .into_iter()
        .rev()
        .map(NoteValue::quarters)
        .find(|value| *value <= length)
}

fn lcm(a: i64, b: i64) -> i64 {
    let (mut x, mut y) = (a, b);
    while y != 0 {
        (x, y) = (y, x % y);
    }
    (a / x.max(1)).saturating_mul(b)
}

/// The pieces of segments inside a node.
fn clipped(clips: &[Clip], node: &Node) -> Vec<Clip> {
    clips
        .iter()
        .filter(|clip| clip.start < node.end() && clip.end > node.start)
        .map(|clip| Clip {
            start: clip.start.max(node.start),
            end: clip.end.min(node.end()),
            ..*clip
        })
        .collect()
}

/// Lengths that no note value says: kept without one.
fn bare(clips: &[Clip]) -> Vec<Value> {
    let value = |clip: &Clip| Value {
        segment: clip.segment,
        start: clip.start,
        duration: clip.end - clip.start,
        written: None,
        tuplet: None,
    };
    clips.iter().map(value).collect()
}

/// The value and dots that say a length, at most a whole note with `dots` dots.
pub(super) fn value_of(length: Quarters, dots: u8) -> Option<(NoteValue, u8)> {
    let plain = |length: Quarters| {
        NoteValue::ALL
            .into_iter()
            .find(|value| value.quarters() == length)
    };
    let dotted = [
        (Rational::ONE, 0),
        (Rational::new(3, 2), 1),
        (Rational::new(7, 4), 2),
    ];
    dotted
        .into_iter()
        .filter(|(_, count)| *count <= dots)
        .find_map(|(factor, count)| Some((plain(length / factor)?, count)))
        .filter(|(value, count)| *value < NoteValue::Breve || *count == 0)
}

fn push(clip: &Clip, value: Option<(NoteValue, u8)>, values: &mut Vec<Value>) {
    values.push(Value {
        segment: clip.segment,
        start: clip.start,
        duration: clip.end - clip.start,
        written: value.map(|(value, dots)| Written {
            value,
            dots,
            tuplets: Vec::new(),
        }),
        tuplet: None,
    });
}

/// Splits a plain length where the eye needs it.
fn split(node: &Node, clip: &Clip, values: &mut Vec<Value>) {
    let mut node = node.clone();
    let mut children = node.children();
    while let Some(child) = children
        .iter()
        .find(|c| c.start <= clip.start && clip.end <= c.end())
    {
        node = child.clone();
        children = node.children();
    }
    let dots = if clip.rest && !node.is_ternary_beat() {
        0
    } else if clip.start == node.start {
        2
    } else {
        1
    };
    let value = value_of(clip.end - clip.start, dots);
    if value.is_some() && allowed(&node, &children, clip) {
        push(clip, value, values);
        return;
    }
    let inside: Vec<Quarters> = children
        .iter()
        .map(|child| child.start)
        .filter(|at| clip.start < *at && *at < clip.end)
        .collect();
    let aligned = children.iter().any(|child| child.start == clip.start);
    let part = |from: Quarters, to: Quarters| Clip {
        start: from,
        end: to,
        ..*clip
    };
    let fits = |at: &Quarters| {
        let first = part(clip.start, *at);
        value_of(first.end - first.start, dots).is_some() && allowed(&node, &children, &first)
    };
    let at = if aligned {
        inside.iter().rev().find(|at| fits(at)).or(inside.first())
    } else {
        inside.first()
    };
    match at {
        Some(at) => {
            split(&node, &part(clip.start, *at), values);
            split(&node, &part(*at, clip.end), values);
        }
        None => smallest(clip, values),
    }
}

/// Below the smallest division: values one after the other.
fn smallest(clip: &Clip, values: &mut Vec<Value>) {
    let mut at = clip.start;
    while at < clip.end && values.len() < 4_096 {
        let Some(length) = largest(clip.end - at) else {
            let rest = Clip { start: at, ..*clip };
            push(&rest, None, values);
            return;
        };
        let piece = Clip {
            start: at,
            end: at + length,
            ..*clip
        };
        push(&piece, value_of(length, 0), values);
        at += length;
    }
}

/// True if one sign may stand for this length although beats lie inside it.
fn allowed(node: &Node, children: &[Node], clip: &Clip) -> bool {
    let at_start = clip.start == node.start;
    let at_end = clip.end == node.end();
    if at_start && at_end || children.is_empty() {
        return true;
    }
    if clip.rest {
        // In a compound beat two of three may be one rest at the start.
        return node.is_ternary_beat() && at_start && children.iter().any(|child| child.end() == clip.end);
    }
    let on_line = |at: Quarters| {
        children
            .iter()
            .any(|child| child.start == at || child.end() == at)
    };
    if on_line(clip.start) && on_line(clip.end) {
        return true;
    }
    if node.of_compound_beats() {
        return false;
    }
    if (at_start || at_end) && children.len() <= 3 {
        return true;
    }
    // From the middle of a part to the middle of the next one: off the beat, but plain to see.
    children.windows(2).any(|pair| match pair {
        [a, b] => {
            a.length == b.length
                && a.start + a.length / Rational::whole(2) == clip.start
                && b.start + b.length / Rational::whole(2) == clip.end
        }
        _ => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(metre: (u8, u16), lengths: &[&str]) -> String {
        let mut at = Quarters::ZERO;
        let segments: Vec<Segment> = lengths
            .iter()
            .map(|text| {
                let rest = text.starts_with('r');
                let length = Rational::parse(text.trim_start_matches('r')).expect("a length");
                let start = at;
                at += length;
                Segment { start, end: at, rest }
            })
            .collect();
        let values = values(&Node::bar(metre.0, metre.1), &segments);
        for value in &values {
            if let Some(written) = &value.written {
                assert_eq!(written.quarters(), value.duration);
            }
        }
        let say = |(index, value): (usize, &Value)| {
            let again = index > 0 && values[index - 1].segment == value.segment;
            let tie = if again && !segments[value.segment].rest {
                "~"
            } else {
                ""
            };
            let rest = if segments[value.segment].rest { "r" } else { "" };
            let Some(written) = &value.written else {
                return format!("{tie}{rest}?");
            };
            let tuplet = written.tuplets.first();
            let tuplet = tuplet.map_or(String::new(), |t| format!("[{}:{}]", t.actual, t.normal));
            let dots = ".".repeat(usize::from(written.dots));
            format!("{tie}{rest}{}{dots}{tuplet}", written.value.name())
        };
        values.iter().enumerate().map(say).collect::<Vec<_>>().join(" ")
    }

    /// Source: common practice.
    #[test]
    fn the_middle_of_four_four_stays_visible() {
        assert_eq!(written((4, 4), &["3", "1"]), "half. quarter");
        assert_eq!(written((4, 4), &["1", "2", "1"]), "quarter half quarter");
        assert_eq!(
            written((4, 4), &["3/2", "1", "3/2"]),
            "quarter. eighth ~eighth quarter."
        );
        assert_eq!(
            written((4, 4), &["1/2", "1", "1/2", "2"]),
            "eighth quarter eighth half"
        );
        assert_eq!(
            written((4, 4), &["1", "3/2", "3/2"]),
            "quarter quarter ~eighth quarter."
        );
        assert_eq!(written((4, 4), &["r3", "1"]), "rhalf rquarter quarter");
        assert_eq!(written((4, 4), &["1", "r3"]), "quarter rquarter rhalf");
    }

    #[test]
    fn three_four_and_compound_metres() {
        assert_eq!(written((3, 4), &["1", "2"]), "quarter half");
        assert_eq!(written((3, 4), &["1", "r2"]), "quarter rquarter rquarter");
        assert_eq!(written((3, 4), &["3/2", "1/2", "1"]), "quarter. eighth quarter");
        assert_eq!(written((6, 8), &["1", "1/2", "3/2"]), "quarter eighth quarter.");
        assert_eq!(written((6, 8), &["2", "1"]), "quarter. ~eighth quarter");
        assert_eq!(
            written((6, 8), &["1/2", "r1", "3/2"]),
            "eighth reighth reighth quarter."
        );
        assert_eq!(
            written((6, 8), &["1/2", "r1/2", "r1/2", "r1", "1/2"]),
            "eighth reighth reighth rquarter eighth"
        );
        assert_eq!(written((9, 8), &["9/2"]), "half. ~quarter.");
        assert_eq!(written((5, 4), &["5"]), "half. ~half");
    }

    #[test]
    fn tuplets_in_the_smallest_group_that_needs_no_ties() {
        let third = ["1/3", "1/3", "1/3", "3"];
        assert_eq!(
            written((4, 4), &third),
            "eighth[3:2] eighth[3:2] eighth[3:2] quarter ~half"
        );
        assert_eq!(
            written((2, 4), &["2/3", "2/3", "2/3"]),
            "quarter[3:2] quarter[3:2] quarter[3:2]"
        );
        assert_eq!(
            written((2, 4), &["2/3", "1/3", "1"]),
            "quarter[3:2] eighth[3:2] quarter"
        );
        assert_eq!(
            written((4, 4), &["4/3", "4/3", "4/3"]),
            "half[3:2] half[3:2] half[3:2]"
        );
        assert_eq!(
            written((1, 4), &["1/5", "2/5", "1/5", "1/5"]),
            "16th[5:4] eighth[5:4] 16th[5:4] 16th[5:4]"
        );
        assert_eq!(
            written((6, 8), &["3/10", "3/10", "3/10", "3/10", "3/10", "3/2"]),
            "eighth[5:3] eighth[5:3] eighth[5:3] eighth[5:3] eighth[5:3] quarter."
        );
        assert_eq!(
            written((4, 4), &["1", "4/3", "r5/3"]),
            "quarter quarter ~eighth[3:2] rquarter[3:2] rquarter"
        );
    }
}
