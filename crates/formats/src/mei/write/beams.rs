//! Which beams does a group of notes under one beam have, level by level? As MEI means it, for its reader and its writer.
//!
//! MEI says where a beam starts and ends and where its inner levels break (`breaksec`); the rest follows from the note values.
//! Source: MEI 5 Guidelines, `beam` and `breaksec` ("the number of beams which should remain unbroken").

use notation::Beam;

/// A note under a beam.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Member {
    /// Beams that its value has: 1 for an eighth.
    pub levels: u8,
    /// So many beams go on to the next note, if fewer than both have.
    pub unbroken: Option<u8>,
}

/// The beams of each note, outermost first.
pub(crate) fn usual(members: &[Member]) -> Vec<Vec<Beam>> {
    let shared: Vec<u8> = members
        .windows(2)
        .map(|pair| match pair {
            [a, b] => a.levels.min(b.levels).min(a.unbroken.unwrap_or(u8::MAX)).max(1),
            _ => 1,
        })
        .collect();
    let before = |at: usize| {
        at.checked_sub(1)
            .and_then(|at| shared.get(at))
            .copied()
            .unwrap_or(0)
    };
    let after = |at: usize| shared.get(at).copied().unwrap_or(0);
    let level_of = |at: usize, level: u8| match (level <= before(at), level <= after(at)) {
        (true, true) => Beam::Continue,
        (false, true) => Beam::Begin,
        (true, false) => Beam::End,
        (false, false) if at == 0 => Beam::ForwardHook,
        // Inside and at the end a stub points back, as our reader has it; another way is told by a word.
        (false, false) => Beam::BackwardHook,
    };
    members
        .iter()
        .enumerate()
        .map(|(at, member)| {
            (1..=member.levels.max(1))
                .map(|level| level_of(at, level))
                .collect()
        })
        .collect()
}

/// So many beams go on from one note to the next, by what each says itself.
pub(crate) fn going_on(from: &[Beam], to: &[Beam]) -> u8 {
    let goes = from.iter().zip(to).take_while(|(a, b)| {
        matches!(a, Beam::Begin | Beam::Continue) && matches!(b, Beam::Continue | Beam::End)
    });
    u8::try_from(goes.count()).unwrap_or(u8::MAX)
}

/// A note's beams in letters, for those that are not the usual ones: `beams.bf` is a beam that begins and a hook forward.
pub(crate) fn code(beams: &[Beam]) -> String {
    let letters = beams.iter().map(|beam| match beam {
        Beam::Begin => 'b',
        Beam::Continue => 'c',
        Beam::End => 'e',
        Beam::ForwardHook => 'f',
        Beam::BackwardHook => 'k',
    });
    std::iter::once("beams.".to_owned())
        .chain(letters.map(String::from))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(members: &[(u8, Option<u8>)]) -> String {
        let members: Vec<Member> = members
            .iter()
            .map(|(levels, unbroken)| Member {
                levels: *levels,
                unbroken: *unbroken,
            })
            .collect();
        usual(&members)
            .iter()
            .map(|beams| code(beams).replace("beams.", ""))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Source: common practice (any engraver's handbook, beaming).
    #[test]
    fn levels_follow_from_the_values() {
        assert_eq!(said(&[(1, None), (1, None)]), "b e");
        assert_eq!(said(&[(1, None), (2, None)]), "b ek");
        assert_eq!(said(&[(2, None), (1, None)]), "bf e");
        assert_eq!(said(&[(1, None), (2, None), (1, None), (2, None)]), "b ck c ek");
        let sixteenths: Vec<(u8, Option<u8>)> = (0..4).map(|n| (2, (n == 1).then_some(1))).collect();
        assert_eq!(said(&sixteenths), "bb ce cb ee");
    }
}
