//! On which time round was it? Where the same written notes come on two time rounds nobody can hear from which of their notes a player
//! went over from one round to the other: he did where the page parts, at the repeat sign or the ending.

use super::{Alignment, Jump, JumpKind};
use crate::expected::Expected;

/// Brings ways by the page to where the page parts; a way that the rest of the take doesn't tell from going on is none.
pub(super) fn part_where_the_page_parts(line: &[Expected], alignment: &mut Alignment) {
    let mut jumps = std::mem::take(&mut alignment.jumps);
    let mut kept: Vec<Jump> = Vec::with_capacity(jumps.len());
    for at in 0..jumps.len() {
        let Some(mut jump) = jumps.get(at).copied() else {
            break;
        };
        if jump.kind != JumpKind::Page {
            kept.push(jump);
            continue;
        }
        let end = jumps
            .get(at + 1)
            .map_or(alignment.sounded.len(), |next| next.sounded);
        let (from, to) = (jump.from, jump.to);
        let other = |note: usize| (note + from + 1).checked_sub(to);
        let alike = |note: usize| {
            other(note)
                .and_then(|other| line.get(other))
                .zip(line.get(note))
                .is_some_and(|(a, b)| {
                    a.place == b.place && a.event == b.event && (a.key - b.key).abs() < 0.01
                })
        };
        let alike_so_far = alignment.sounded.get(jump.sounded..end).unwrap_or(&[]);
        let parts = jump.sounded
            + alike_so_far
                .iter()
                .take_while(|note| alike(note.expected))
                .count();
        for note in alignment.sounded.get_mut(jump.sounded..parts).unwrap_or(&mut []) {
            if let Some(other) = other(note.expected) {
                note.expected = other;
                jump.from = other;
            }
        }
        match alignment.sounded.get(parts).filter(|_| parts < end) {
            Some(first) => {
                (jump.to, jump.at_secs, jump.sounded) = (first.expected, first.onset_secs, parts);
                if jump.to != jump.from + 1 {
                    kept.push(jump);
                }
            }
            None => {
                if let Some(next) = jumps.get_mut(at + 1) {
                    next.from = jump.from;
                }
            }
        }
    }
    alignment.jumps = kept;
}
