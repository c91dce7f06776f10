//! Which marks of a page are drawn if only so many may be? The most valuable, of several kinds, letters with their like.

use notation::{PencilMark, PencilSign};
use std::collections::BTreeMap;

/// What a mark is still worth for each mark of its sign that the page bears already. Ours: of eight courtesies the fifth says
/// less than the first breath.
const AGAIN: f64 = 0.72;

/// Which marks of one page are drawn if at most so many may be: indices into the list, in its order. Marks that a person
/// kept are always among them, and count; those of her own making, which no legend asked for, take no place from ours. Look-alikes with one letter stay together: one of them alone says nothing.
#[must_use]
pub fn choose(marks: &[&PencilMark], most: u32) -> Vec<usize> {
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let mut chosen: Vec<usize> = (0..marks.len()).filter(|at| marks[*at].kept).collect();
    let own = chosen.iter().filter(|at| marks[**at].matter.is_empty()).count();
    let most = most.saturating_add(own);
    let mut borne: BTreeMap<PencilSign, i32> = BTreeMap::new();
    for at in chosen.iter().filter(|at| !marks[**at].matter.is_empty()) {
        *borne.entry(marks[*at].sign).or_insert(0) += 1;
    }
    let mut groups = groups(marks);
    while chosen.len() < most {
        let value = |group: &Vec<usize>| {
            let best = group.iter().map(|at| marks[*at].worth).fold(0.0, f64::max);
            let sign = group.first().map(|at| marks[*at].sign);
            let times = sign.and_then(|sign| borne.get(&sign)).copied().unwrap_or(0);
            best * AGAIN.powi(times)
        };
        let best = (0..groups.len()).max_by(|a, b| {
            let order = value(&groups[*a]).total_cmp(&value(&groups[*b]));
            // Of equals the first on the page.
            order.then_with(|| groups[*b].first().cmp(&groups[*a].first()))
        });
        let Some(best) = best else { break };
        let mut group = groups.remove(best);
        let left = most - chosen.len();
        if group.len() > left {
            if left < 2 {
                continue;
            }
            // As many of them as there is room for, the most valuable.
            group.sort_by(|a, b| marks[*b].worth.total_cmp(&marks[*a].worth).then(a.cmp(b)));
            group.truncate(left);
        }
        for at in group {
            *borne.entry(marks[at].sign).or_insert(0) += 1;
            chosen.push(at);
        }
    }
    chosen.sort_unstable();
    chosen
}

/// Marks that are chosen together, by index, in order.
fn groups(marks: &[&PencilMark]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut letters: BTreeMap<char, usize> = BTreeMap::new();
    for (at, mark) in marks.iter().enumerate().filter(|(_, mark)| !mark.kept) {
        let letter = (mark.sign == PencilSign::LookAlike)
            .then(|| mark.text.chars().next())
            .flatten();
        let known = letter.and_then(|letter| letters.get(&letter)).copied();
        match known.and_then(|known| groups.get_mut(known)) {
            Some(group) => group.push(at),
            None => {
                if let Some(letter) = letter {
                    letters.insert(letter, groups.len());
                }
                groups.push(vec![at]);
            }
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::choose;
    use notation::{Anchor, PencilMark, PencilSign, Place};

    fn mark(sign: PencilSign, worth: f64, text: &str) -> PencilMark {
        let from = Anchor {
            place: Place::default(),
            element: None,
        };
        PencilMark {
            worth,
            text: text.to_owned(),
            ..PencilMark::new(sign, from, "Why.")
        }
    }

    fn chosen(marks: &[PencilMark], most: u32) -> Vec<usize> {
        choose(&marks.iter().collect::<Vec<_>>(), most)
    }

    #[test]
    fn the_most_valuable_come_first_and_in_order_of_the_page() {
        let marks = [
            mark(PencilSign::Breath, 0.3, ""),
            mark(PencilSign::JumpArrow, 0.9, ""),
            mark(PencilSign::Circle, 0.5, ""),
        ];
        assert_eq!(chosen(&marks, 2), [1, 2]);
        assert!(chosen(&marks, 0).is_empty());
        assert_eq!(chosen(&marks, 9), [0, 1, 2]);
    }

    #[test]
    fn many_of_one_sign_leave_room_for_others() {
        let mut marks: Vec<PencilMark> = (0..8).map(|_| mark(PencilSign::Courtesy, 0.9, "♮")).collect();
        marks.push(mark(PencilSign::Breath, 0.6, ""));
        marks.push(mark(PencilSign::Eyeglasses, 0.8, ""));
        let some = chosen(&marks, 5);
        assert!(some.contains(&8) && some.contains(&9), "{some:?}");
    }

    #[test]
    fn what_a_person_kept_stays_whatever_it_is_worth() {
        let mut marks = vec![
            mark(PencilSign::Breath, 0.1, ""),
            mark(PencilSign::Circle, 0.9, ""),
        ];
        marks[0].kept = true;
        "breaths".clone_into(&mut marks[0].matter);
        assert_eq!(chosen(&marks, 0), [0]);
        assert_eq!(chosen(&marks, 1), [0]);
        // One of her own, which no legend asked for, takes no place from ours.
        marks[0].matter.clear();
        assert_eq!(chosen(&marks, 1), [0, 1]);
    }

    #[test]
    fn letters_stay_together() {
        let marks = [
            mark(PencilSign::LookAlike, 0.64, "a"),
            mark(PencilSign::Circle, 0.6, ""),
            mark(PencilSign::LookAlike, 0.3, "a′"),
            mark(PencilSign::LookAlike, 0.2, "b"),
        ];
        assert_eq!(chosen(&marks, 2), [0, 2]);
        // One letter alone says nothing: the room goes to another.
        assert_eq!(chosen(&marks, 1), [1]);
    }
}
