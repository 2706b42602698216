//! Hands at the tank: giving a run up, a press whose answer was lost, and whom a clock calls.

use super::*;
use spoolwright_core::shelf::{RollState, RunId};
use spoolwright_core::wet::record::RunState;

const CLOCK: &str = "/wet/runs/4/clock";

fn state_of(site: &Site) -> RunState {
    site.service.run(RunId(4)).unwrap().run.state
}

#[tokio::test(flavor = "multi_thread")]
async fn a_run_that_has_not_begun_is_given_up_on_its_page_and_at_its_clock() {
    let site = Site::demo();
    for address in ["/wet/runs/4", CLOCK] {
        let page = site.get(address).await;
        page.says("Give the run up");
        page.says("value=\"abandon\"");
    }
    site.post(CLOCK, "kind=abandon&note=").await;
    assert_eq!(state_of(&site), RunState::Planned, "it wants its reason");
    site.post_and_follow(CLOCK, "kind=abandon&note=no+water")
        .await;
    assert_eq!(state_of(&site), RunState::Abandoned);
    let page = site.get("/wet/runs/4").await;
    page.says("Given up. The rolls are as they were before.");
    assert!(!page.text.contains("value=\"abandon\""));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_run_given_up_in_its_developer_says_what_became_of_the_film() {
    let site = Site::demo();
    let run = site.service.run(RunId(4)).unwrap();
    let developer = run.steps.iter().position(|s| s.kind.develops()).unwrap();
    for _ in 0..=developer {
        site.post_and_follow(CLOCK, "kind=begin").await;
    }
    site.post_and_follow(CLOCK, "kind=abandon&note=spilt").await;
    let label = &run.rolls[0].roll.label;
    assert_eq!(
        site.service.roll(label).unwrap().roll.state,
        RollState::Developed
    );
    for address in ["/wet/runs/4", CLOCK] {
        let page = site.get(address).await;
        page.says("Developed as far as it went");
        page.says(label);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_press_whose_answer_was_lost_can_be_asked_for() {
    let site = Site::demo();
    let ask = async |request: &str| {
        let page = site.get(&format!("{CLOCK}.json?request={request}")).await;
        serde_json::from_str::<serde_json::Value>(&page.text).unwrap()
    };
    assert_eq!(ask("knuckle-1").await["recorded"], false);
    site.post_and_follow(CLOCK, "kind=begin&request=knuckle-1")
        .await;
    let told = ask("knuckle-1").await;
    assert_eq!(
        (&told["recorded"], &told["phase"]),
        (&true.into(), &"running".into())
    );
    let entry = told["press"].as_i64().unwrap();
    site.post_and_follow(&format!("/history/{entry}/undo"), "back=%2Fwet")
        .await;
    assert_eq!(
        ask("knuckle-1").await["recorded"],
        false,
        "it was taken back"
    );
    let page = site.get(&format!("{CLOCK}.json")).await;
    page.says("\"recorded\":null");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_rehearsal_does_not_call_out_at_a_real_tank() {
    let site = Site::demo();
    let page = site
        .post_and_follow("/wet/runs", "recipe=1&tank=1&reels=&rehearsal=60")
        .await;
    assert_eq!(page.status, StatusCode::OK);
    let practice = "/wet/runs/5/clock";
    for clock in [practice, CLOCK] {
        site.post_and_follow(clock, "kind=begin").await;
    }
    let others = async |clock: &str| {
        let page = site.get(&format!("{clock}.json")).await;
        let told: serde_json::Value = serde_json::from_str(&page.text).unwrap();
        let others = told["others"].as_array().unwrap();
        others
            .iter()
            .map(|o| o["run"].as_i64().unwrap())
            .collect::<Vec<_>>()
    };
    assert!(others(CLOCK).await.is_empty());
    assert_eq!(
        others(practice).await,
        [4],
        "the real tank calls everywhere"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn silenced_calls_still_say_when_the_film_must_come_out() {
    let site = Site::demo();
    site.post_and_follow(CLOCK, "kind=begin").await;
    site.post_and_follow(CLOCK, "kind=quiet&note=door").await;
    let page = site.get(CLOCK).await;
    page.says("Calls are silent");
    // What comes next is a call that is made all the same.
    let doing = page.text.split("data-doing>").nth(1).unwrap();
    let doing = doing.split('<').next().unwrap();
    assert!(
        doing.starts_with("Pour out in") || doing.starts_with("Time is up in"),
        "{doing}"
    );
}

/// The user thinks in Fahrenheit and in feet.
fn american(site: &Site) {
    let choices = spoolwright::service::settings::SettingsDraft {
        fahrenheit: "yes".into(),
        feet: "yes".into(),
        ..Default::default()
    };
    site.service.save_settings(&choices, None).unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_thermometer_in_fahrenheit_is_read_and_answered_in_fahrenheit() {
    let site = Site::demo();
    american(&site);
    let page = site.get(CLOCK).await;
    page.says("class=\"unit\">°F<");
    site.post_and_follow(CLOCK, "kind=reading&value=105").await;
    let page = site.get(CLOCK).await;
    page.says("The developer is at 105.0 °F.");
    for _ in 0..3 {
        site.post_and_follow(CLOCK, "kind=begin").await;
    }
    site.post_and_follow(CLOCK, "kind=reading&value=105.8")
        .await;
    let page = site.get(CLOCK).await;
    page.says("at 105.8 °F");
    // The journal tells whoever reads it: 105.8 °F are 41 °C.
    page.says("The bath is at 41 °C (106 °F).");
    let told = site.get(&format!("{CLOCK}.json")).await;
    let told: serde_json::Value = serde_json::from_str(&told.text).unwrap();
    assert_eq!(told["step"]["bath"], " at 105.8 °F");

    let refused = site.post(CLOCK, "kind=reading&value=200").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.says("1 to 60 °C (34 to 140 °F)");
    // A refusal costs nobody what was typed.
    refused.says("id=\"reading-value-fault\"");
    refused.says("value=\"200\"");
    let refused = site.post(CLOCK, "kind=abandon&note=").await;
    refused.says("id=\"abandon-note-fault\"");

    for (address, told) in [
        ("/wet", "at 68 °F"),
        ("/wet/runs/1", "at <span class=\"num\">68 °F</span>"),
        ("/wet/recipes/1", "at <span class=\"num\">68 °F</span>"),
        ("/wet/times", "68 °F"),
        ("/wet/kit", " oz)"),
        ("/wet/baths/4", "68 °F when empty."),
    ] {
        let page = site.get(address).await;
        page.says(told);
        assert!(!page.text.contains("68 °C"), "{address}");
    }
    let page = site
        .post_and_follow("/wet/tanks", "name=Jug&reel=1&volumes=16+oz+32+oz")
        .await;
    page.says("946 ml (32 oz)");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bath_is_not_ended_long_before_its_time_by_one_knuckle() {
    let site = Site::demo();
    let knuckle = "kind=begin&step=1&knuckle=1";
    site.post_and_follow(CLOCK, knuckle).await;
    let step = async || {
        let told = site.get(&format!("{CLOCK}.json")).await;
        serde_json::from_str::<serde_json::Value>(&told.text).unwrap()["step"]["place"].clone()
    };
    // Past the moment in which it would be the same knuckle twice.
    tokio::time::sleep(std::time::Duration::from_millis(1600)).await;
    let asked = site.post(CLOCK, "kind=begin&step=2&knuckle=1").await;
    assert_eq!(asked.status, StatusCode::CONFLICT);
    asked.says("Press once more to end it now.");
    asked.says("name=\"sure\" value=\"yes\"");
    assert_eq!(step().await, 1, "nothing happened yet");
    site.post_and_follow(CLOCK, "kind=begin&step=2&knuckle=1&sure=yes")
        .await;
    assert_eq!(step().await, 2);
    let page = site.get("/wet/runs/4").await;
    page.says("It was in for <strong class=\"num\">0:0");
}

#[tokio::test(flavor = "multi_thread")]
async fn while_the_bath_is_out_the_big_button_puts_it_in_again() {
    let site = Site::demo();
    site.post_and_follow(CLOCK, "kind=begin").await;
    site.post_and_follow(CLOCK, "kind=out&note=spilt").await;
    let page = site.get(CLOCK).await;
    let big = page.text.split("data-part=\"press\"").nth(1).unwrap();
    let big = big.split("</form>").next().unwrap();
    assert!(
        big.contains("value=\"resume\"") && big.contains("The bath is in again"),
        "{big}"
    );
    assert!(
        !big.contains("value=\"begin\"") && !big.contains("knuckle"),
        "{big}"
    );
    site.post_and_follow(CLOCK, "kind=resume").await;
    let page = site.get(CLOCK).await;
    assert!(!page.text.contains("The bath is in again"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_reading_hard_to_believe_is_asked_about_once() {
    let site = Site::demo();
    let asked = site.post(CLOCK, "kind=reading&value=4.1").await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    asked.says("Read the thermometer again.");
    asked.says("name=\"sure\" value=\"4.1\"");
    let other = site.post(CLOCK, "kind=reading&value=12&sure=4.1").await;
    assert_eq!(
        other.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "another one is asked about anew"
    );
    site.post_and_follow(CLOCK, "kind=reading&value=4.1&sure=4.1")
        .await;
    site.get(CLOCK).await.says("The developer is at 4.1 °C.");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_clock_says_what_a_step_asks_of_hands() {
    let site = Site::demo();
    let run = site.service.run(RunId(4)).unwrap();
    let n = 2;
    let kind = run.steps[n].kind.baths()[0].word();
    let card = format!("name=Brown+bottle&kind={kind}&usage=reused&volume=1000&mixed_on=");
    site.post_and_follow("/wet/baths", &card).await;
    let made = site.service.baths().unwrap()[0].card.id;
    let address = format!("/wet/runs/4/steps/{}", n + 1);
    site.post_and_follow(&address, &format!("bath={made}"))
        .await;
    let bath = "Brown bottle";
    // Before it is poured, and while it is in.
    for _ in 0..n {
        site.post_and_follow(CLOCK, "kind=begin").await;
    }
    let page = site.get(CLOCK).await;
    page.says(&format!("{}: ", run.steps[n].kind.spoken()));
    page.says(&format!("from {bath}"));
    site.post_and_follow(CLOCK, "kind=begin").await;
    let page = site.get(CLOCK).await;
    let head = page.text.split("data-part=\"press\"").next().unwrap();
    assert!(head.contains(&format!("from {bath}")), "{head}");
    page.says("Cautions");
}

#[tokio::test(flavor = "multi_thread")]
async fn practice_does_not_push_a_dry_roll_off_the_bench() {
    let site = Site::demo();
    for _ in 0..site.service.run(RunId(4)).unwrap().steps.len() {
        site.post_and_follow(CLOCK, "kind=begin").await;
    }
    site.post_and_follow(CLOCK, "kind=finish").await;
    for _ in 0..21 {
        site.post_and_follow("/wet/runs", "recipe=1&tank=&reels=&volume=300&rehearsal=60")
            .await;
    }
    let page = site.get("/wet").await;
    let dry = page.text.split("Dry, not looked at yet").nth(1).unwrap();
    assert!(dry.contains("href=\"/wet/runs/4\""), "{dry}");
}
