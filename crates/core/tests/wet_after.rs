//! What developed rolls say of an allowance: the binomial bound, and when a shorter one may be tried.

use spoolwright_core::wet::after::{Advice, End, ROLLS_TO_SHORTEN, allowance};

const CLEAN: End = End {
    allowed_clicks: 2,
    fogged_clicks: 0,
};

fn holds(rolls: usize, now_clicks: u32) -> (f64, bool) {
    match allowance(&vec![CLEAN; rolls], now_clicks) {
        Some(Advice::Holds {
            rolls: seen,
            chance_below,
            may_shorten,
        }) if seen == rolls => (chance_below, may_shorten),
        other => panic!("{other:?}"),
    }
}

/// Source: the exact binomial bound without an event, from tables of it: 3 trials 63.2 %, 10 trials 25.9 %, 30 trials
/// 9.5 %, 59 trials 4.95 %; tolerance half a last digit.
#[test]
fn clean_rolls_bound_the_chance_of_fog() {
    for (rolls, percent) in [(3, 63.2), (10, 25.9), (30, 9.5), (59, 4.95)] {
        let (chance, _) = holds(rolls, 2);
        assert!(
            (chance * 100.0 - percent).abs() < 0.051,
            "{rolls}: {chance}"
        );
    }
}

/// A shorter allowance is spoken of only where at most one roll in ten is fogged as it is.
#[test]
fn an_allowance_is_shortened_on_good_grounds_alone() {
    for rolls in 1..60 {
        let (chance, may) = holds(rolls, 2);
        assert_eq!(may, rolls >= ROLLS_TO_SHORTEN);
        assert!(!may || chance <= 0.1, "{rolls}: {chance}");
    }
    assert!(!holds(60, 2).1 || holds(60, 2).0 < 0.1);
    let zero = vec![
        End {
            allowed_clicks: 0,
            fogged_clicks: 0
        };
        60
    ];
    assert!(matches!(
        allowance(&zero, 0),
        Some(Advice::Holds {
            may_shorten: false,
            ..
        })
    ));
}
