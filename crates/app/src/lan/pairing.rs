//! How is a device let in? By a code that the teacher sees on this machine: good once, for five minutes, and for five tries.

use crate::error::AppError;
use crate::guard::same;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use store::PlayerId;

/// Letters and digits that nobody confuses: no I, O, 0, 1.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
/// Eight of them: a million million codes.
const LENGTH: usize = 8;
/// So long is a code good.
const GOOD_FOR: Duration = Duration::from_secs(300);
/// After so many wrong ones it is good no more.
const TRIES: u8 = 5;

/// The one code that is good now, if any.
#[derive(Default)]
pub(crate) struct Offers(Mutex<Option<Offer>>);

struct Offer {
    code: String,
    player: Option<PlayerId>,
    until: Instant,
    tries: u8,
}

/// What came of a code.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Tried {
    /// It is the code; it is good no more. For a player's device, whose.
    Right(Option<PlayerId>),
    /// It is not.
    Wrong,
    /// No code is good now.
    NoneGood,
}

impl Offers {
    /// A new code for a device of a player, or of the teacher; the one before it is good no more.
    ///
    /// # Errors
    /// If the machine gives no random numbers.
    pub fn offer(&self, player: Option<PlayerId>, now: Instant) -> Result<String, AppError> {
        let mut bytes = [0_u8; LENGTH];
        getrandom::fill(&mut bytes).map_err(|error| AppError::Random(error.to_string()))?;
        // 32 letters: every byte is as likely to fall on each.
        let code: String = bytes
            .iter()
            .map(|byte| char::from(LETTERS[usize::from(byte % 32)]))
            .collect();
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(Offer {
            code: code.clone(),
            player,
            until: now + GOOD_FOR,
            tries: 0,
        });
        Ok(code)
    }

    /// Tries a code; spaces, hyphens and small letters are as good.
    pub fn take(&self, typed: &str, now: Instant) -> Tried {
        let typed: String = typed
            .chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|letter| letter.to_ascii_uppercase())
            .collect();
        let mut held = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(offer) = held.as_mut().filter(|offer| now < offer.until) else {
            *held = None;
            return Tried::NoneGood;
        };
        if same(&typed, &offer.code) {
            let player = offer.player;
            *held = None;
            return Tried::Right(player);
        }
        offer.tries += 1;
        if offer.tries >= TRIES {
            *held = None;
        }
        Tried::Wrong
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot set itself up has failed")]
mod tests {
    use super::{GOOD_FOR, Offers, TRIES, Tried};
    use std::time::Instant;
    use store::PlayerId;

    #[test]
    fn a_code_is_good_once_for_five_minutes_and_five_tries() {
        let (offers, now) = (Offers::default(), Instant::now());
        assert_eq!(offers.take("", now), Tried::NoneGood);

        let code = offers.offer(Some(PlayerId(3)), now).unwrap();
        let typed = format!("{} {}", code[..4].to_lowercase(), &code[4..]);
        assert_eq!(offers.take(&typed, now), Tried::Right(Some(PlayerId(3))));
        assert_eq!(offers.take(&code, now), Tried::NoneGood);

        let code = offers.offer(None, now).unwrap();
        assert_eq!(offers.take(&code, now + GOOD_FOR), Tried::NoneGood);

        let code = offers.offer(None, now).unwrap();
        for _ in 0..TRIES {
            assert_eq!(offers.take("WRONGONE", now), Tried::Wrong);
        }
        assert_eq!(offers.take(&code, now), Tried::NoneGood);

        let first = offers.offer(None, now).unwrap();
        let second = offers.offer(None, now).unwrap();
        assert_ne!(first, second);
        assert_eq!(offers.take(&first, now), Tried::Wrong);
        assert_eq!(offers.take(&second, now), Tried::Right(None));
    }
}
