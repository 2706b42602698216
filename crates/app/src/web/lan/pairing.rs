//! The one-time code by which a device is paired, and the patience with those who guess.
//!
//! It knows codes and tries, not devices: who comes in is written by the service.

use ring::hmac;
use ring::rand::{SecureRandom as _, SystemRandom};
use std::collections::{HashMap, VecDeque};
use std::net::IpAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Seconds a code is good for.
pub const CODE_GOOD_FOR_S: f64 = 600.0;
/// Wrong tries, by all together, after which a code is burnt.
pub const MOST_WRONG: u32 = 5;
/// Tries one address may make in a minute.
pub const TRIES_A_MINUTE: usize = 5;
/// Addresses whose tries are remembered; when there are more within a minute, nobody may try.
const MOST_ADDRESSES: usize = 256;

/// What came of a try.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tried {
    /// It was right; the code is used up.
    Right,
    /// It was wrong.
    Wrong {
        /// Wrong tries that are left before the code is burnt.
        left: u32,
    },
    /// There is no code to be right: none was made, or it was used, or is too old, or was burnt.
    NoCode(Gone),
    /// Too many tries; this one was not looked at.
    TooFast,
}

/// Where the last code went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Gone {
    /// None was made.
    #[default]
    None,
    /// It was used.
    Used,
    /// Its time was over.
    Expired,
    /// Too many wrong tries.
    Burnt,
}

#[derive(Debug)]
struct Code {
    digits: String,
    mark: hmac::Tag,
    made_at: f64,
    wrong: u32,
}

#[derive(Debug, Default)]
struct State {
    code: Option<Code>,
    gone: Gone,
    tries: HashMap<IpAddr, VecDeque<f64>>,
}

/// The code of the moment and everybody's tries. Times are seconds of one clock that only goes forward.
#[derive(Debug)]
pub struct Pairing {
    key: hmac::Key,
    random: SystemRandom,
    state: Mutex<State>,
}

impl Pairing {
    /// No code yet.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn new() -> anyhow::Result<Self> {
        let random = SystemRandom::new();
        let key = hmac::Key::generate(hmac::HMAC_SHA256, &random)
            .map_err(|_| anyhow::anyhow!("the system gives no random numbers"))?;
        Ok(Self {
            key,
            random,
            state: Mutex::default(),
        })
    }

    /// Makes a code of eight digits; one made before is good no longer.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn new_code(&self, now: f64) -> anyhow::Result<String> {
        const CODES: u32 = 100_000_000;
        let number = loop {
            let mut bytes = [0; 4];
            self.random
                .fill(&mut bytes)
                .map_err(|_| anyhow::anyhow!("the system gives no random numbers"))?;
            let drawn = u32::from_le_bytes(bytes);
            // What lies above the last whole hundred million would make small codes likelier.
            if drawn < u32::MAX / CODES * CODES {
                break drawn % CODES;
            }
        };
        let digits = format!("{number:08}");
        let mut state = self.state();
        state.code = Some(Code {
            mark: hmac::sign(&self.key, digits.as_bytes()),
            digits: digits.clone(),
            made_at: now,
            wrong: 0,
        });
        Ok(digits)
    }

    /// The code that is good now, and for how many seconds more.
    pub fn code(&self, now: f64) -> Option<(String, f64)> {
        let mut state = self.state();
        state.expire(now);
        let code = state.code.as_ref()?;
        Some((code.digits.clone(), code.made_at + CODE_GOOD_FOR_S - now))
    }

    /// Tries a code from an address. Spaces and hyphens in it do not count.
    pub fn attempt(&self, from: IpAddr, typed: &str, now: f64) -> Tried {
        let mut state = self.state();
        if !state.may_try(from, now) {
            return Tried::TooFast;
        }
        state.expire(now);
        let Some(code) = &mut state.code else {
            return Tried::NoCode(state.gone);
        };
        let digits: String = typed
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .collect();
        // Compared by their marks under a key of this run, in constant time.
        if hmac::verify(&self.key, digits.as_bytes(), code.mark.as_ref()).is_ok() {
            state.code = None;
            state.gone = Gone::Used;
            return Tried::Right;
        }
        code.wrong += 1;
        let left = MOST_WRONG - code.wrong;
        if left == 0 {
            state.code = None;
            state.gone = Gone::Burnt;
        }
        Tried::Wrong { left }
    }

    /// Something nobody can guess: 32 random bytes, in hexadecimal digits.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn secret(&self) -> anyhow::Result<String> {
        let mut bytes = [0; 32];
        self.random
            .fill(&mut bytes)
            .map_err(|_| anyhow::anyhow!("the system gives no random numbers"))?;
        Ok(super::hex(&bytes))
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl State {
    fn expire(&mut self, now: f64) {
        let good = |code: &Code| (code.made_at..code.made_at + CODE_GOOD_FOR_S).contains(&now);
        if self.code.as_ref().is_some_and(|code| !good(code)) {
            self.code = None;
            self.gone = Gone::Expired;
        }
    }

    /// Counts a try, unless there were too many within the last minute.
    fn may_try(&mut self, from: IpAddr, now: f64) -> bool {
        self.tries.retain(|_, times| {
            times.retain(|at| (now - 60.0..=now).contains(at));
            !times.is_empty()
        });
        if MOST_ADDRESSES <= self.tries.len() && !self.tries.contains_key(&from) {
            return false;
        }
        let times = self.tries.entry(from).or_default();
        let may = times.len() < TRIES_A_MINUTE;
        if may {
            times.push_back(now);
        }
        may
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn from(last: u8) -> IpAddr {
        [192, 168, 1, last].into()
    }

    fn wrong(code: &str) -> String {
        let first = if code.starts_with('9') { '0' } else { '9' };
        format!("{first}{}", &code[1..])
    }

    #[test]
    fn a_code_is_good_once_and_in_any_grouping() {
        let pairing = Pairing::new().unwrap();
        assert_eq!(
            pairing.attempt(from(1), "00000000", 0.0),
            Tried::NoCode(Gone::None)
        );
        let code = pairing.new_code(0.0).unwrap();
        assert!(
            code.len() == 8 && code.chars().all(|c| c.is_ascii_digit()),
            "{code}"
        );
        let spaced = format!(" {} - {} ", &code[..4], &code[4..]);
        assert_eq!(pairing.attempt(from(1), &spaced, 1.0), Tried::Right);
        assert_eq!(
            pairing.attempt(from(1), &code, 2.0),
            Tried::NoCode(Gone::Used)
        );
    }

    #[test]
    fn five_wrong_tries_of_all_together_burn_a_code() {
        let pairing = Pairing::new().unwrap();
        let code = pairing.new_code(0.0).unwrap();
        for (i, left) in (0_u8..5).zip([4, 3, 2, 1, 0]) {
            assert_eq!(
                pairing.attempt(from(i), &wrong(&code), f64::from(i)),
                Tried::Wrong { left }
            );
        }
        assert_eq!(
            pairing.attempt(from(9), &code, 6.0),
            Tried::NoCode(Gone::Burnt)
        );
        assert_eq!(pairing.code(6.0), None);
    }

    #[test]
    fn ten_minutes() {
        let pairing = Pairing::new().unwrap();
        let code = pairing.new_code(1000.0).unwrap();
        assert_eq!(pairing.code(1599.0), Some((code.clone(), 1.0)));
        assert_eq!(
            pairing.attempt(from(1), &code, 1600.0),
            Tried::NoCode(Gone::Expired)
        );
        let code = pairing.new_code(1700.0).unwrap();
        assert_eq!(pairing.attempt(from(1), &code, 2299.9), Tried::Right);
    }

    #[test]
    fn one_address_tries_five_times_a_minute() {
        let pairing = Pairing::new().unwrap();
        for second in 0..5 {
            pairing.attempt(from(1), "1", f64::from(second));
        }
        let code = pairing.new_code(5.0).unwrap();
        assert_eq!(pairing.attempt(from(1), &code, 59.0), Tried::TooFast);
        assert!(
            pairing.code(59.0).is_some(),
            "a try not looked at costs nothing"
        );
        assert_eq!(pairing.attempt(from(1), &code, 60.5), Tried::Right);
    }

    #[test]
    fn a_crowd_of_addresses_is_not_remembered_without_end() {
        let pairing = Pairing::new().unwrap();
        for n in 0..=u16::MAX {
            let [a, b] = n.to_be_bytes();
            pairing.attempt([10, 0, a, b].into(), "1", 0.0);
            if n == 300 {
                break;
            }
        }
        assert!(pairing.state().tries.len() <= MOST_ADDRESSES);
        assert_eq!(pairing.attempt(from(1), "1", 1.0), Tried::TooFast);
        assert_eq!(
            pairing.attempt(from(1), "1", 62.0),
            Tried::NoCode(Gone::None)
        );
    }

    #[test]
    fn secrets_are_long_and_differ() {
        let pairing = Pairing::new().unwrap();
        let (one, two) = (pairing.secret().unwrap(), pairing.secret().unwrap());
        assert_eq!((one.len(), two.len()), (64, 64));
        assert_ne!(one, two);
    }
}
