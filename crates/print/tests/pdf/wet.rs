//! Bath cards and run sheets as outside programs read them: the words are words, in embedded fonts.

use super::wedge::words_of;
use super::wet_common::{fixer, run, went_through};
use spoolwright_print::{Paper, bath_cards, run_sheets};

#[test]
fn the_words_of_both_can_be_extracted() {
    let mut card = fixer();
    card.log.push(went_through("28 Nov 2026", 1.5, "1:10"));
    let text = words_of(
        &bath_cards(&[card], Paper::Letter, 0).unwrap(),
        "bath-words",
    );
    for words in [
        "Fixer A",
        "rapid fixer concentrate, 1+4",
        "1000 ml",
        "Dead when a scrap takes 60 s",
        "Read the supplier's safety data sheet first",
        "1:10",
        "50 mm",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let text = words_of(&run_sheets(&[run()], Paper::A4).unwrap(), "run-words");
    for words in [
        "HM-07 + HM-08 + GU-01",
        "Short tank",
        "10:50",
        "Fixer A",
        "531 ml",
        "50 mm",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
}
