//! Which figures above a page's first line number the page, and not a bar?
//!
//! Pages of one part are numbered one after another (common practice), in an excerpt from where the book stands; bars are not.

use super::System;

/// A number that stands where a bar's could: on which system, what is printed, which bar that is by our count.
#[derive(Clone, Copy, Debug)]
pub(super) struct Printed {
    pub system: usize,
    pub number: i64,
    pub counted: i64,
}

/// Of each number whether it is the page's: not the bar's count, and either the page's place in the part or as far ahead of it as a number on
/// another page.
pub(super) fn page_numbers(systems: &[System], numbers: &[Printed]) -> Vec<bool> {
    let ahead: Vec<Option<i64>> = numbers.iter().map(|number| ahead(systems, number)).collect();
    ahead
        .iter()
        .enumerate()
        .map(|(n, own)| {
            own.is_some_and(|own| {
                own == 1
                    || ahead
                        .iter()
                        .enumerate()
                        .any(|(other, that)| other != n && *that == Some(own))
            })
        })
        .collect()
}

/// How far a number on a page's first line is ahead of the page, counted from 0. On the first page a number above the music tells more of
/// its bars than of the page.
fn ahead(systems: &[System], printed: &Printed) -> Option<i64> {
    let page = systems.get(printed.system)?.page;
    let before = systems.get(printed.system.checked_sub(1)?)?;
    let first = before.page != page;
    let page = i64::try_from(page).ok()?;
    (first && printed.number != printed.counted).then_some(printed.number - page)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two lines on each of so many pages.
    fn pages(n: usize) -> Vec<System> {
        (0..2 * n)
            .map(|line| System {
                page: line / 2,
                ..System::of_scores(&[])
            })
            .collect()
    }

    fn told(numbers: &[(usize, i64, i64)]) -> Vec<bool> {
        let numbers: Vec<Printed> = numbers
            .iter()
            .map(|(system, number, counted)| Printed {
                system: *system,
                number: *number,
                counted: *counted,
            })
            .collect();
        page_numbers(&pages(4), &numbers)
    }

    #[test]
    fn the_place_of_the_page_numbers_it() {
        // System, what is printed, our count: page 2, a bar, page 4.
        assert_eq!(told(&[(2, 2, 31), (3, 36, 36), (6, 4, 90)]), [true, false, true]);
        // On the second line of a page it is a bar's, however wrong.
        assert_eq!(told(&[(3, 2, 36)]), [false]);
        // Bar 2 at the top of page 2 is bar 2.
        assert_eq!(told(&[(2, 2, 2)]), [false]);
    }

    #[test]
    fn in_an_excerpt_pages_count_from_where_the_book_stands() {
        assert_eq!(told(&[(2, 18, 31), (4, 19, 60), (6, 20, 90)]), [true; 3]);
        assert_eq!(told(&[(2, 18, 31), (4, 63, 60)]), [false; 2]);
    }
}
