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
