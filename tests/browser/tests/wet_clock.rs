//! The clock of a run as hands with wet knuckles use it: a whole rehearsal at 60 times the speed of life on a phone, with
//! thermometer, pauses, a reload, another screen that was faster and a program killed in the middle of the bath; a real
//! run on a wide screen with another tank going; and which calls are made when a reading moves the end.

use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use spoolwright_browser_tests::app::{App, ask, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;
use spoolwright_browser_tests::{faults, http};

/// How many times faster than life the rehearsal goes.
const PACE: f64 = 60.0;
/// Minutes of its developer: long enough in life for all that happens to it here.
const DEVELOPER_MIN: f64 = 120.0;
/// Seconds of life that a look, an answer and a drawing may take on a busy machine.
const SLACK_S: f64 = 2.5;

fn say(store: &Path, words: &[&str]) -> Result<String> {
    let store = store.to_str().context("the path is not UTF-8")?;
    ask(&[&["--store", store], words].concat())
}

/// Two exposed rolls, two tanks, a recipe.
fn furnish(store: &Path) -> Result<()> {
    for line in [
        "stock add --name Dune --ei 100",
        "loader add --name Bench",
        "can add --stock 1 --letters DS --loader Bench --length 30m",
        "cassette add --label 1-4",
        "wind add --can DS --frames 36",
        "wind add --can DS --frames 24",
        "wind 1 done",
        "wind 2 done",
        "roll move DS-01 exposed",
        "roll move DS-02 exposed",
        "reel add --name Steel --count 4",
        "tank add --name Short --reel Steel --volumes 290",
        "tank add --name Tall --reel Steel --volumes 290",
    ] {
        let words: Vec<&str> = line.split(' ').collect();
        say(store, &words).with_context(|| line.to_owned())?;
    }
    say(store, &["recipe", "begin", "Negative, one-shot"])?;
    Ok(())
}

/// What the program says of a run's clock.
fn state(app: &App, run: u32) -> Result<Value> {
    let answer = http::get(&app.url, &format!("/wet/runs/{run}/clock.json"))?;
    ensure!(answer.status == 200, "{}", answer.text());
    Ok(serde_json::from_slice(&answer.body)?)
}

fn elapsed(state: &Value) -> Result<f64> {
    state["step"]["elapsed_s"]
        .as_f64()
        .with_context(|| state.to_string())
}

/// `"26:05 in, 40:00 in all"`: both figures in seconds, as the page shows them.
async fn shown(page: &Page) -> Result<(f64, f64)> {
    let said = text_of(page, "ends").await?;
    let figures: Vec<f64> = said
        .split(' ')
        .filter_map(|word| {
            let (minutes, seconds) = word.split_once(':')?;
            Some(minutes.parse::<f64>().ok()? * 60.0 + seconds.parse::<f64>().ok()?)
        })
        .collect();
    match figures[..] {
        // A wide margin is a third.
        [elapsed, ends, ..] => Ok((elapsed, ends)),
        _ => anyhow::bail!("the clock shows {said:?}"),
    }
}

async fn text_of(page: &Page, part: &str) -> Result<String> {
    let script = format!("return document.querySelector('[data-{part}]')?.textContent ?? ''");
    let said = page.script(&script).await?;
    Ok(said.as_str().unwrap_or_default().to_owned())
}

/// The space bar, with the focus wherever it is.
async fn knuckle(page: &Page) -> Result<()> {
    wait(BOUNCE_S).await;
    page.session
        .action_chain()
        .send_keys(" ")
        .perform()
        .await
        .map_err(Into::into)
}

/// Sooner after the last press this would be taken for the same knuckle.
const BOUNCE_S: f64 = 1.6;

async fn press(page: &Page, words: &str) -> Result<()> {
    wait(BOUNCE_S).await;
    page.press(words).await
}

/// A press that ends a bath long before its time is asked about, and is meant when it is made again.
async fn press_early(page: &Page, words: &str) -> Result<()> {
    press(page, words).await?;
    page.sees("Press once more to end it now.").await?;
    // The browser notes the question's status.
    faults::of(page).await?;
    press(page, words).await
}

async fn wait(seconds: f64) {
    tokio::time::sleep(Duration::from_secs_f64(seconds)).await;
}

/// The page's end is the drift integral's, by the contract that answers without a store.
async fn end_is_the_integrals(page: &Page, app: &App, run: u32, file: &Path) -> Result<()> {
    let asked = json!({
        "time_min": DEVELOPER_MIN, "at_c": 20, "readings": state(app, run)?["step"]["readings"],
    });
    std::fs::write(file, asked.to_string())?;
    let told = ask(&["calc", "devtime", "--in", file.to_str().context("UTF-8")?])?;
    let told: Value = serde_json::from_str(&told)?;
    let stop = told["stop_at_s"].as_f64().context("no stop")?;
    let (_, ends) = shown(page).await?;
    ensure!(
        (ends - stop).abs() < 0.51,
        "{ends} shown, {stop} by {asked}"
    );
    Ok(())
}

/// While a step runs nothing but the clock is on the sheet, and its figures fill the screen's width without spilling.
async fn only_the_clock(page: &Page) -> Result<()> {
    let script = "const seen = (css) => document.querySelector(css).getClientRects().length > 0;
        const left = document.querySelector('.clock .left');
        const range = document.createRange();
        range.selectNodeContents(left);
        const press = document.querySelector('.clock .huge').getBoundingClientRect();
        return { head: seen('.head'), ways: seen('.ways'), back: seen('.clock .back a'),
            top: scrollY, digits: range.getBoundingClientRect().width / innerWidth,
            press: press.width * press.height / (innerWidth * innerHeight), low: press.bottom <= innerHeight };";
    let seen = page.script(script).await?;
    ensure!(
        seen["head"] == false && seen["ways"] == false && seen["back"] == true,
        "{seen}"
    );
    let digits = seen["digits"].as_f64().context("no digits")?;
    ensure!(
        (0.7..=1.0).contains(&digits),
        "digits over {digits} of the width"
    );
    ensure!(
        seen["press"].as_f64() > Some(0.25) && seen["low"] == true,
        "{seen}"
    );
    Ok(())
}

/// From nothing begun to the developer in: bottle read, space bar, thermometer.
async fn begin(page: &Page, app: &App, file: &Path) -> Result<()> {
    page.go("/wet/runs/1/clock").await?;
    page.sees("Not begun").await?;
    page.inspect("wet-clock-1-waiting").await?;
    page.fill("value", "21,5").await?;
    press(page, "Read it").await?;
    page.sees("The developer is at 21.5 °C").await?;
    twice(page, app).await?;
    page.script("document.activeElement.blur()").await?;
    knuckle(page).await?;
    page.sees("Developer 1 of 7").await?;
    page.sees("21.5 °C").await?;
    only_the_clock(page).await?;
    end_is_the_integrals(page, app, 1, file).await?;
    // Nobody said how this developer answers to warmth: the page says that this is what makes the margin wide.
    page.sees("how this developer answers to warmth is not known")
        .await?;
    page.inspect("wet-clock-2-developer").await?;
    page.fill("value", "23.1").await?;
    press(page, "Read it").await?;
    page.sees("at 23.1 °C").await?;
    end_is_the_integrals(page, app, 1, file).await?;
    let focus = page
        .script("return document.activeElement.textContent.trim()")
        .await?;
    ensure!(focus == "Stop goes in", "the space bar would go to {focus}");
    page.fill("value", "95").await?;
    press(page, "Read it").await?;
    page.sees("95; allowed: 1 to 60 °C (34 to 140 °F)").await?;
    page.inspect_refused("wet-clock-3-refused").await
}

/// A double tap on "Read it", and Enter twice in its field, where the page scrolls the big button under the finger.
async fn twice(page: &Page, app: &App) -> Result<()> {
    wait(BOUNCE_S).await;
    page.fill("value", "21.4").await?;
    page.script(
        "const tap = (css) => document.querySelector(css).click();
        tap('form:has(#reading-value) button'); setTimeout(tap, 900, '[data-press] button');",
    )
    .await?;
    page.sees("The developer is at 21.4 °C").await?;
    wait(BOUNCE_S).await;
    page.fill("value", "21.5").await?;
    let enter = |page: &Page| {
        let key = char::from(thirtyfour::Key::Enter).to_string();
        let keys = page.session.action_chain().send_keys(key);
        async move { keys.perform().await }
    };
    enter(page).await?;
    page.sees("The developer is at 21.5 °C").await?;
    let focus = page
        .script("return document.activeElement.textContent.trim()")
        .await?;
    ensure!(focus == "Developer goes in", "Enter would go to {focus}");
    enter(page).await?;
    wait(0.5).await;
    ensure!(
        state(app, 1)?["phase"] == "waiting",
        "the second tap began the developer"
    );
    Ok(())
}

async fn pauses(page: &Page, app: &App) -> Result<()> {
    page.press("Pause").await?;
    press(page, "The bath is out").await?;
    page.sees("the time stands still").await?;
    let stood = elapsed(&state(app, 1)?)?;
    page.inspect("wet-clock-4-out").await?;
    ensure!((elapsed(&state(app, 1)?)? - stood).abs() < 1e-6);
    let (shown_s, _) = shown(page).await?;
    ensure!(
        (shown_s - stood).abs() < 0.51,
        "{shown_s} shown, {stood} so"
    );
    press(page, "The bath is in again").await?;
    page.sees("Pause").await?;
    page.press("Pause").await?;
    press(page, "Silence the calls").await?;
    page.sees("Calls are silent").await?;
    let before = elapsed(&state(app, 1)?)?;
    page.inspect("wet-clock-5-quiet").await?;
    ensure!(elapsed(&state(app, 1)?)? > before + 1.0);
    press(page, "Go on").await?;
    page.sees("Pause").await?;
    Ok(())
}

/// The clock shows what the time since a look makes of it, whatever happened to page or program meanwhile.
async fn stands_where_time_says(page: &Page, app: &App, look: (f64, Instant)) -> Result<()> {
    let told = elapsed(&state(app, 1)?)?;
    let should = look.0 + look.1.elapsed().as_secs_f64() * PACE;
    ensure!(
        (told - should).abs() < SLACK_S * PACE,
        "{told} told, {should} by time"
    );
    let (shown_s, _) = shown(page).await?;
    let told = elapsed(&state(app, 1)?)?;
    ensure!(
        (told - shown_s).abs() < SLACK_S * PACE,
        "{shown_s} shown, {told} told"
    );
    Ok(())
}

async fn reload_and_kill(page: &Page, app: App, store: &Path) -> Result<App> {
    let look = (elapsed(&state(&app, 1)?)?, Instant::now());
    page.session.refresh().await?;
    page.sees("Developer 1 of 7").await?;
    stands_where_time_says(page, &app, look).await?;

    page.script("document.querySelector('#more').open = true; document.querySelector('#reading-value').value = '22'")
        .await?;
    let url = app.url.clone();
    app.kill()?;
    page.sees("The program does not answer").await?;
    // The page's own clock goes on; what is pressed is not recorded, and it says so.
    let (before, _) = shown(page).await?;
    wait(0.5).await;
    ensure!(
        shown(page).await?.0 > before,
        "the clock stopped with the program"
    );
    page.press("Stop goes in").await?;
    page.sees("Whether that was recorded is said here").await?;
    page.picture("wet-clock-6-gone").await?;
    let app = App::again(store, &url)?;
    let start = Instant::now();
    while !text_of(page, "offline").await?.is_empty() {
        ensure!(
            start.elapsed() < Duration::from_secs(10),
            "it does not find back"
        );
        wait(0.1).await;
    }
    page.sees("nothing was recorded. Press again.").await?;
    page.sees("Developer 1 of 7").await?;
    stands_where_time_says(page, &app, look).await?;
    let kept = page
        .script("return [document.querySelector('#more').open, document.querySelector('#reading-value').value]")
        .await?;
    ensure!(
        kept == json!([true, "22"]),
        "what was typed is gone: {kept}"
    );
    // The browser notes every asking that got no answer; nothing else may be wrong.
    let mut found = faults::of(page).await?;
    found.retain(|fault| {
        !fault.contains("ERR_CONNECTION_REFUSED")
            && !fault.contains("ERR_EMPTY_RESPONSE")
            && !fault.contains("ERR_CONNECTION_RESET")
    });
    ensure!(found.is_empty(), "{found:?}");
    Ok(app)
}

/// Another screen pressed first: this one's press is refused, and then shows what is true.
async fn overtaken(page: &Page, app: &App) -> Result<()> {
    page.script(
        "const fetched = window.fetch; window.held = true;
        window.fetch = (to, how) => window.held && String(to).includes('clock.json') ? Promise.reject(new Error('held')) : fetched(to, how);",
    )
    .await?;
    let other = [
        ("kind", "begin"),
        ("step", "2"),
        ("request", "other-screen"),
    ];
    http::take(&app.url, "/wet/runs/1/clock", &other)?;
    // Pressed at once it would be taken for the same knuckle; so late it is another press.
    wait(1.0).await;
    page.press("Stop goes in").await?;
    page.sees("Another screen may have been faster").await?;
    page.script("window.held = false").await?;
    page.sees("Stop 2 of 7").await?;
    page.sees("Fixer goes in").await?;
    // The other screen was pressed a while ago, but the button came under this finger just now.
    page.press("Fixer goes in").await?;
    wait(0.5).await;
    ensure!(state(app, 1)?["step"]["place"] == 2, "a step was skipped");
    // The browser notes the refusal's status.
    faults::of(page).await?;
    Ok(())
}

/// A knuckle that bounces, in the page and past it, begins one step.
async fn bounce(page: &Page, app: &App) -> Result<()> {
    wait(BOUNCE_S).await;
    page.script(
        "const press = () => document.querySelector('[data-press]').requestSubmit();
        press(); press(); for (const ms of [60, 200, 400, 700]) setTimeout(press, ms);",
    )
    .await?;
    page.sees("Fixer 3 of 7").await?;
    wait(1.2).await;
    ensure!(state(app, 1)?["step"]["place"] == 3, "a step was skipped");
    Ok(())
}

/// A press that was recorded while its answer was lost begins one step, not two; a page that was not to be had keeps
/// its figures, and is asked for again.
async fn lost_answer(page: &Page, app: &App) -> Result<()> {
    page.script(
        "const fetched = window.fetch; window.lose = true; window.failing = 3;
        window.fetch = async (to, how) => {
            if (how?.headers?.accept === 'text/html' && window.failing-- > 0) throw new TypeError('not to be had');
            const answer = await fetched(to, how);
            if (window.lose && how?.method === 'POST') throw new TypeError('lost');
            return answer;
        };",
    )
    .await?;
    press(page, "Fixer goes in").await?;
    let start = Instant::now();
    while state(app, 1)?["step"]["place"] != 3 {
        ensure!(start.elapsed() < Duration::from_secs(5), "not recorded");
        wait(0.05).await;
    }
    // Till the page is had, heading and figures are the stop bath's, 45 s long; then both are the fixer's.
    for _ in 0..20 {
        let both = page
            .script("return [document.querySelector('[data-what]').textContent, document.querySelector('[data-ends]').textContent]")
            .await?
            .to_string();
        ensure!(
            both.contains("Stop 2 of 7") != both.contains(" 5:00 in all"),
            "{both}"
        );
        wait(0.1).await;
    }
    page.sees("Fixer 3 of 7").await?;
    page.sees("That press was recorded; only the answer was lost")
        .await?;
    ensure!(state(app, 1)?["step"]["place"] == 3, "a step was skipped");
    page.script("window.lose = false").await?;
    wait(1.0).await;
    Ok(())
}

/// Oops knocked twice takes one press back, and the big button does not lie under the next key.
async fn oops_twice(page: &Page, app: &App) -> Result<()> {
    wait(BOUNCE_S).await;
    page.script(
        "const oops = () => document.querySelector('.oops button').click();
        document.querySelector('.oops button').focus(); oops(); setTimeout(oops, 700); setTimeout(oops, 1100);",
    )
    .await?;
    page.sees("Stop 2 of 7").await?;
    wait(1.6).await;
    ensure!(
        state(app, 1)?["step"]["place"] == 2,
        "the press before was taken back too"
    );
    let focus = page.script("return document.activeElement.tagName").await?;
    ensure!(focus == "BODY", "a key would press {focus}");
    Ok(())
}

async fn to_the_end(page: &Page, app: &App) -> Result<()> {
    // Oops: the fixer was not in yet.
    oops_twice(page, app).await?;
    lost_answer(page, app).await?;
    press(page, "Oops: undo").await?;
    page.sees("Stop 2 of 7").await?;
    ensure!(state(app, 1)?["step"]["place"] == 2);
    page.sees("+").await?;
    page.inspect("wet-clock-7-over").await?;
    for (place, name) in (3..).zip(["Fixer", "Wash", "Wash aid", "Wash", "Final rinse"]) {
        press(page, &format!("{name} goes in")).await?;
        page.sees(&format!("{name} {place} of 7")).await?;
    }
    press(page, "Done: out of the tank").await?;
    page.sees("All done").await?;
    page.inspect("wet-clock-8-done").await?;
    press(page, "Oops: undo").await?;
    page.sees("Final rinse 7 of 7").await?;
    press(page, "Done: out of the tank").await?;
    page.sees("All done").await?;
    Ok(())
}

#[tokio::test]
async fn a_rehearsal_on_a_phone() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("wet.sqlite");
    furnish(&store)?;
    let pace = PACE.to_string();
    let minutes = format!("{DEVELOPER_MIN} min");
    say(
        &store,
        &[
            "wet",
            "load",
            "--recipe",
            "1",
            "--tank",
            "Short",
            "--reels",
            "DS-01",
            "--time",
            &minutes,
            "--rehearsal",
            &pace,
        ],
    )?;
    let app = App::over(&store)?;
    let url = app.url.clone();
    with_page(&url, Screen::Phone, Scheme::Light, async |page| {
        begin(page, &app, &folder.path().join("asked.json")).await?;
        pauses(page, &app).await?;
        let app = reload_and_kill(page, app, &store).await?;
        overtaken(page, &app).await?;
        bounce(page, &app).await?;
        to_the_end(page, &app).await
    })
    .await?;
    let roll = say(&store, &["--json", "roll", "show", "DS-01"])?;
    ensure!(
        roll.contains("\"exposed\""),
        "a rehearsal developed: {roll}"
    );
    Ok(())
}

#[tokio::test]
async fn a_real_run_beside_another_tank() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("wet.sqlite");
    furnish(&store)?;
    let load = |tank: &str, roll: &str, more: &[&str]| {
        let words = [
            "wet", "load", "--recipe", "1", "--tank", tank, "--reels", roll,
        ];
        say(&store, &[&words[..], more].concat())
    };
    load("Tall", "DS-02", &[])?;
    load("Short", "DS-01", &[])?;
    say(&store, &["wet", "press", "2", "begin"])?;
    let app = App::over(&store)?;
    with_page(&app.url, Screen::Desktop, Scheme::Dark, async |page| {
        page.go("/wet/runs/1").await?;
        page.press("To the clock").await?;
        page.sees("Not begun").await?;
        page.sees("Short: Developer").await?;
        knuckle(page).await?;
        page.sees("Developer 1 of 7").await?;
        // The other tank is called out here, by its name.
        let start = Instant::now();
        loop {
            let said = text_of(page, "elsewhere").await?;
            if said.starts_with("Short: ") {
                break;
            }
            ensure!(
                start.elapsed() < Duration::from_secs(75),
                "nothing of the other tank: {said:?}"
            );
            wait(0.1).await;
        }
        page.inspect("wet-clock-9-two-tanks").await?;
        // Without a script the same page presses by a plain form.
        let plain = page.fetch("/wet/runs/1/clock")?.text();
        ensure!(plain.contains("Stop goes in") && plain.contains("name=\"step\" value=\"2\""));
        let other = [("kind", "begin"), ("step", "2"), ("request", "plain")];
        http::take(&app.url, "/wet/runs/1/clock", &other)?;
        http::take(&app.url, "/wet/runs/1/clock", &other)?;
        page.sees("Stop 2 of 7").await?;
        for (place, name) in (3..).zip(["Fixer", "Wash", "Wash aid", "Wash", "Final rinse"]) {
            press_early(page, &format!("{name} goes in")).await?;
            page.sees(&format!("{name} {place} of 7")).await?;
        }
        press_early(page, "Done: out of the tank").await?;
        page.sees("All done").await?;
        page.inspect("wet-clock-10-done").await?;
        press(page, "What came out").await?;
        page.fill("usable", "23").await?;
        page.press("Write it down").await?;
        page.sees("23 usable frames").await?;
        page.inspect("wet-clock-11-result").await
    })
    .await?;
    let roll = say(&store, &["--json", "roll", "show", "DS-02"])?;
    ensure!(roll.contains("\"developed\""), "{roll}");
    Ok(())
}

/// Calls by hand: each once, none lost, none said twice when the end moves.
const CALLS: &str = "
    const done = arguments[arguments.length - 1];
    const address = document.querySelector('script[src$=\"clock.js\"]').src.replace('clock.js', 'calls.js');
    import(address).then(({ Caller }) => {
        const step = (ends_s, more) => ({ place: 1, develops: true, pause: null, ends_s, calls: [
            { at_s: 0, what: 'agitate' }, { at_s: 30, what: 'rest' }, { at_s: 60, what: 'agitate' }, { at_s: 65, what: 'rest' },
            { at_s: ends_s - 10, what: 'pour-out' }, { at_s: ends_s, what: 'next' }], ...more });
        const heard = (...looks) => {
            const caller = new Caller();
            return looks.map(([ends, t, more, pace]) => caller.due(step(ends, more), t, pace)).join(' ');
        };
        done({
            plain: heard([100, 0.1], [100, 0.3], [100, 30.1], [100, 61], [100, 66], [100, 90], [100, 91], [100, 100], [100, 101]),
            // Found in the middle, and slept through.
            middle: heard([100, 40], [100, 61]),
            slept: heard([100, 20], [100, 75]),
            slept_over: heard([100, 20], [100, 140]),
            // The end comes before now: called at once, once.
            earlier: heard([100, 70], [60, 70.2], [60, 70.4]),
            // It moves on after it was called: called off, then called again; a second or two are the same end.
            later: heard([100, 90], [130, 91], [130, 119], [130, 120], [130, 130]),
            nearly: heard([100, 90], [101, 90.5], [101, 91.2], [101, 101]),
            silent: heard([100, 20], [100, 31, { pause: 'quiet' }], [100, 95, { pause: 'quiet' }], [100, 96]),
            again: heard([100, 100], [100, 114], [100, 115.1], [100, 116], [100, 130.2]),
            not_again: heard([100, 100, { develops: false }], [100, 200, { develops: false }]),
            fast: heard([100, 0, {}, 60], [100, 12, {}, 60], [100, 36, {}, 60], [100, 66, {}, 60], [100, 101, {}, 60]),
            next_step: heard([100, 100], [100, 0.2, { place: 2 }]),
        });
    }, error => done({ error: String(error) }));";

#[tokio::test]
async fn calls_are_made_once_and_none_is_lost() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("wet.sqlite");
    furnish(&store)?;
    say(
        &store,
        &[
            "wet", "load", "--recipe", "1", "--tank", "Tall", "--reels", "DS-01",
        ],
    )?;
    let app = App::over(&store)?;
    with_page(&app.url, Screen::Phone, Scheme::Dark, async |page| {
        page.go("/wet/runs/1/clock").await?;
        let heard = page.session.execute_async(CALLS, Vec::new()).await?;
        let wanted = json!({
            "plain": "agitate  rest agitate rest pour-out  next ",
            "middle": " agitate",
            "slept": " ",
            "slept_over": " next",
            "earlier": " next ",
            "later": "pour-out later  pour-out next",
            "nearly": "pour-out   next",
            // Silenced, it still says that the film must come out.
            "silent": "  pour-out ",
            "again": "next  over  over",
            "not_again": "next ",
            "fast": "agitate  rest rest next",
            "next_step": "next agitate",
        });
        ensure!(
            heard.json() == &wanted,
            "{}\nwanted\n{wanted}",
            heard.json()
        );
        page.inspect("wet-clock-12-waiting").await
    })
    .await
}
