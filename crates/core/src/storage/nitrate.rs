//! Old film whose base may be nitrate: who is asked what it is, and the only words said of it.
//!
//! Nothing is ever advised for nitrate film but to ask an archive [N4]: no temperature, no hours, no freezer.

use crate::caveat::Caveat;
use crate::shelf::Base;

/// Film made or dated before this year has its base asked for. Nitrate was last made about 1951 in one country [N2];
/// elsewhere it may have been later, and what a person knows is mostly a date of purchase or expiry: own margin.
pub const ASKED_BEFORE: i32 = 1960;

/// What is said of film of that base and age; nothing of acetate, polyester, or film that is not old.
///
/// `year` is the earliest date known of it: when it was made, bought or expired.
///
/// # Source
/// [N1] to [N4].
pub fn caveat(base: Base, year: Option<i32>) -> Option<Caveat> {
    match base {
        Base::Nitrate => Some(Caveat::new(
            "nitrate_base",
            "Nitrate base is a fire hazard: it burns without air and can catch fire by itself in the warm. \
             Do not wind, heat, seal or store it at home, in a freezer least of all; ask a film archive and follow \
             local rules, which count from 11 kg on.",
        )),
        Base::Unknown if year.is_some_and(|y| y < ASKED_BEFORE) => Some(Caveat::new(
            "base_not_known",
            "Film this old may be on nitrate base, which is a fire hazard. Find out what its base is \
             before opening it: SAFETY printed along the edge means it is not nitrate. Until then do not seal it or \
             put it into a freezer; ask a film archive.",
        )),
        _ => None,
    }
}
