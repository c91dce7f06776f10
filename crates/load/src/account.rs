//! What is a load made of? Shares that add up, each with its reason in words.

use notation::Place;

/// One share of a load, with its reason.
#[derive(Clone, PartialEq, Debug)]
pub struct Share {
    /// A short fixed name of the kind of reason, lower case with hyphens (`leap`, `accidental`).
    pub kind: &'static str,
    /// The reason in a musician's words, a clause without the bar's number (`a leap of a tenth down to B♭1`).
    pub why: String,
    /// How much it adds, in the unit of the account; never negative.
    pub amount: f64,
}

impl Share {
    /// True if it is worth naming as a reason: a note or value that was foreseen adds to what there is to read, but is none.
    #[must_use]
    pub fn is_reason(&self) -> bool {
        match self.kind {
            "pitch" => self.amount >= crate::reading::UNEXPECTED,
            "rhythm" => self.amount >= crate::reading::UNEXPECTED_VALUE,
            _ => true,
        }
    }
}

/// A load as the sum of its shares.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Account {
    shares: Vec<Share>,
}

impl Account {
    /// Adds a share; amounts that are not positive and finite are left out.
    pub fn add(&mut self, kind: &'static str, amount: f64, why: impl Into<String>) {
        if amount.is_finite() && amount > 0.0 {
            self.shares.push(Share {
                kind,
                why: why.into(),
                amount,
            });
        }
    }

    /// The whole load: exactly the sum of its shares in order.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.shares.iter().map(|share| share.amount).sum::<f64>() + 0.0
    }

    /// The shares, in the order in which they were added.
    #[must_use]
    pub fn shares(&self) -> &[Share] {
        &self.shares
    }

    /// The shares from the largest down; equal ones in the order in which they were added.
    #[must_use]
    pub fn largest_first(&self) -> Vec<&Share> {
        let mut shares: Vec<&Share> = self.shares.iter().collect();
        shares.sort_by(|a, b| b.amount.total_cmp(&a.amount));
        shares
    }
}

/// A share of a load where it is met on the page, so that loads can be summed by bar or by beat.
#[derive(Clone, PartialEq, Debug)]
pub struct Placed {
    /// The bar and the offset in it at which the reader or player meets it.
    pub place: Place,
    /// What is met there.
    pub share: Share,
}

/// The accounts of so many bars, in their order; shares in a bar keep the order in which they come. Shares of bars beyond
/// the last are left out.
#[must_use]
pub fn by_bar(shares: &[Placed], bars: usize) -> Vec<Account> {
    let mut accounts = vec![Account::default(); bars];
    for placed in shares {
        if let Some(account) = accounts.get_mut(placed.place.bar.get()) {
            account.add(placed.share.kind, placed.share.amount, placed.share.why.clone());
        }
    }
    accounts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_load_is_the_sum_of_what_is_said() {
        let mut account = Account::default();
        account.add("leap", 1.5, "a leap of a tenth");
        account.add("accidental", 2.0, "a sharp against the signature");
        account.add("nothing", 0.0, "is not said");
        account.add("nonsense", f64::NAN, "is not said");
        assert_eq!(account.shares().len(), 2);
        assert!((account.total() - 3.5).abs() < 1e-12);
        assert_eq!(account.largest_first()[0].kind, "accidental");
    }
}
