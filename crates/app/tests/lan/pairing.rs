//! Strangers, pairing, sessions, and what is refused whoever asks.

use super::{House, NAME};
use spoolwright_core::shelf::EntryId;

#[test]
fn a_stranger_gets_the_page_that_pairs_and_nothing_more() {
    let house = House::open();
    for path in ["/", "/cans", "/history", "/devices", "/no/such/page"] {
        let reply = house.get(path, "");
        assert_eq!(reply.status, 303, "{path}");
        assert!(
            reply.header("location").starts_with("/pair"),
            "{}",
            reply.head
        );
        assert_eq!(reply.header("connection"), "close", "{path}");
    }
    assert_eq!(
        house
            .get("/roll/HM-01?a=b c".replace(' ', "%20").as_str(), "")
            .header("location"),
        "/pair?to=/roll/HM-01%3Fa%3Db%2520c"
    );
    for path in [
        "/stocks",
        "/devices/forget",
        "/static/a/b",
        "/authority.crt",
    ] {
        let reply = house.post(path, "", "");
        assert_eq!(reply.status, 401, "{path}");
        reply.says("Open /pair on this device");
    }
    // A script of a page hears it in words, and does not take the pairing page for an answer.
    let reply = house.ask(
        "GET",
        "/wet/runs/1/clock",
        &[("Sec-Fetch-Mode", "cors")],
        "",
    );
    assert_eq!(reply.status, 401);

    let page = house.get("/pair", "");
    assert_eq!(page.status, 200);
    page.says("Pair this device");
    assert!(
        !page.body.contains("class=\"ways\""),
        "no ways lead further"
    );
    let sheet = page.body.split("href=\"/static/").nth(1).unwrap();
    let sheet = format!("/static/{}", sheet.split('"').next().unwrap());
    assert_eq!(house.get(&sheet, "").status, 200);
    let authority = house.get("/authority.crt", "");
    assert_eq!(authority.status, 200);
    assert_eq!(
        authority.header("content-type"),
        "application/x-x509-ca-cert"
    );
}

#[test]
fn looking_never_pairs_and_pressing_does_once() {
    let house = House::open();
    let code = house.code();
    let page = house.get(&format!("/pair?code={code}&to=/roll/HM-01"), "");
    page.says(&format!("value=\"{code}\""));
    assert_eq!(page.header("set-cookie"), "");
    assert!(house.service.devices().unwrap().is_empty());

    let form = format!(
        "name=Pocket+phone&code={}+{}&to=/cans",
        &code[..4],
        &code[4..]
    );
    let reply = house.post("/pair", "", &form);
    assert_eq!(reply.status, 303, "{}", reply.body);
    assert!(
        reply.header("location").starts_with("/cans?done="),
        "{}",
        reply.head
    );
    let cookie = reply.header("set-cookie").to_owned();
    let parts: Vec<&str> = cookie.split("; ").collect();
    let secret = parts[0].strip_prefix("__Host-spoolwright=").unwrap();
    assert!(secret.len() == 64 && secret.chars().all(|c| c.is_ascii_hexdigit()));
    assert_eq!(
        parts[1..],
        [
            "Max-Age=34560000",
            "Path=/",
            "Secure",
            "HttpOnly",
            "SameSite=Strict"
        ]
    );

    // The same code, by someone else.
    let again = house.try_code(&code);
    assert_eq!(again.status, 409, "{}", again.body);
    again.says("a name that no other paired device has");
    let again = house.post("/pair", "", &format!("name=Another&code={code}"));
    again.says("it was used already");
    assert_eq!(again.header("set-cookie"), "");

    let session = reply.session();
    let page = house.get("/devices", &session);
    assert_eq!(page.status, 200);
    page.says("Pocket phone (this device)");
    assert_eq!(house.get("/cans", &session).status, 200);
    // A browser sends what else it holds too.
    assert_eq!(
        house.get("/cans", &format!("a=b; {session}; c=d")).status,
        200
    );
    assert_eq!(
        house
            .get("/cans", &session.replace("spoolwright=", "spoolwright=0"))
            .status,
        303
    );
    assert_eq!(
        house.get("/cans", &session.replace("__Host-", "")).status,
        303
    );
}

/// What a device proves itself with lies nowhere on the disk.
#[test]
fn the_store_keeps_no_secret() {
    let house = House::open();
    let session = house.pair();
    let secret = session.split_once('=').unwrap().1.as_bytes();
    let mut files = 0;
    for file in std::fs::read_dir(house.folder.path()).unwrap() {
        let path = file.unwrap().path();
        if path.is_file() {
            let bytes = std::fs::read(&path).unwrap();
            assert!(
                !bytes.windows(secret.len()).any(|w| w == secret),
                "{path:?}"
            );
            files += 1;
        }
    }
    assert!(files > 0);
}

#[test]
fn other_hosts_and_other_origins_are_refused_with_a_session_too() {
    let house = House::open();
    let session = house.pair();
    let port = house.address.port();
    for host in [
        format!("127.0.0.1:{port}"),
        format!("localhost:{port}"),
        "127.0.0.2".to_owned(),
        format!("127.0.0.2:{}", port ^ 1),
        format!("evil.example:{port}"),
        format!("workbench.evil:{port}"),
    ] {
        let reply = house.ask("GET", "/pair", &[("Host", &host)], "");
        assert_eq!(reply.status, 421, "{host}");
        let reply = house.ask("GET", "/", &[("Host", &host), ("Cookie", &session)], "");
        assert_eq!(reply.status, 421, "{host}");
    }
    for host in [
        format!("workbench.local:{port}"),
        format!("WORKBENCH:{port}"),
    ] {
        let reply = house.ask("GET", "/", &[("Host", &host), ("Cookie", &session)], "");
        assert_eq!(reply.status, 200, "{host}");
    }
    let before = house.service.last_change().unwrap().id;
    for origin in [
        "null".to_owned(),
        "https://evil.example".to_owned(),
        format!("http://127.0.0.2:{port}"),
        "https://127.0.0.2".to_owned(),
        "http://127.0.0.1:7435".to_owned(),
    ] {
        let headers = [("Origin", origin.as_str()), ("Cookie", session.as_str())];
        let reply = house.ask("POST", "/stocks", &headers, "name=Harbour+Mist+250");
        assert_eq!(reply.status, 403, "{origin}");
        let code = house.code();
        let reply = house.ask(
            "POST",
            "/pair",
            &headers[..1],
            &format!("name=Other&code={code}"),
        );
        assert_eq!(reply.status, 403, "{origin}");
    }
    let reply = house.ask(
        "POST",
        "/stocks",
        &[("Sec-Fetch-Site", "cross-site"), ("Cookie", &session)],
        "name=Harbour",
    );
    assert_eq!(reply.status, 403);
    assert_eq!(
        house.service.last_change().unwrap().id,
        before,
        "nothing was changed"
    );
    assert_eq!(
        house
            .post("/stocks", &session, "name=Harbour+Mist+250")
            .status,
        303
    );
}

#[test]
fn wrong_codes_burn_it_and_are_counted_by_the_minute() {
    let house = House::open();
    let code = house.code();
    let wrong = if code.starts_with('1') { "2" } else { "1" }.to_owned() + &code[1..];
    for left in [
        "4 tries are left",
        "3 tries are left",
        "2 tries are left",
        "1 try is left",
    ] {
        let reply = house.try_code(&wrong);
        assert_eq!(reply.status, 422);
        reply.says(left);
        assert!(
            !reply.body.contains(&wrong),
            "a wrong code is not shown again"
        );
    }
    house.try_code(&wrong).says("no longer good");
    house.try_code(&code).says("too many tries");
    house.wait(61);
    house.try_code(&code).says("burnt by wrong tries");
    let new = house.code();
    house.try_code(&new).session();
    assert_eq!(house.service.devices().unwrap().len(), 1);
}

#[test]
fn a_code_is_good_for_ten_minutes() {
    let house = House::open();
    let code = house.code();
    house.wait(600);
    let reply = house.try_code(&code);
    assert_eq!(reply.status, 422);
    reply.says("its time is over");
    let code = house.code();
    house.wait(599);
    house.try_code(&code).session();
}

#[test]
fn a_name_that_cannot_be_given_costs_no_code() {
    let house = House::open();
    let code = house.code();
    for name in ["", "12", &"x".repeat(200)] {
        assert_eq!(
            house
                .post("/pair", "", &format!("name={name}&code={code}"))
                .status,
            422,
            "{name}"
        );
    }
    house.try_code(&code).session();
}

#[test]
fn a_forgotten_device_is_out_at_once() {
    let house = House::open();
    let session = house.pair();
    assert_eq!(house.get("/", &session).status, 200);
    let device = house.service.device_named(NAME).unwrap();
    let made = house.service.forget_device(device.id, None).unwrap();
    assert_eq!(house.get("/", &session).status, 303);
    assert!(
        made.story.contains("Undoing this would let it in again"),
        "{}",
        made.story
    );

    // Another device cannot let it in again; someone at the machine can.
    let other = house
        .post("/pair", "", &format!("name=Other&code={}", house.code()))
        .session();
    let undo = format!("/history/{}/undo", made.entry.unwrap());
    let reply = house.post(&undo, &other, "");
    assert_eq!(reply.status, 422, "{}", reply.body);
    reply.says("the machine the program runs on");
    assert_eq!(house.get("/", &session).status, 303);
    house.service.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(house.get("/", &session).status, 200);

    // Forgetting all takes both; so does a device that forgets itself.
    assert_eq!(house.post("/devices/forget", &other, "").status, 303);
    assert_eq!(house.get("/", &session).status, 303);
    assert_eq!(house.get("/", &other).status, 303);
}

#[test]
fn undoing_the_pairing_shuts_the_device_out() {
    let house = House::open();
    let session = house.pair();
    let paired = house.service.last_change().unwrap();
    assert_eq!(paired.verb, "device.paired");
    // The device may shut itself out by it, and not let itself in again: it is out.
    assert_eq!(
        house
            .post(&format!("/history/{}/undo", paired.id), &session, "")
            .status,
        303
    );
    assert_eq!(house.get("/", &session).status, 303);
    let undone = EntryId(paired.id.0 + 1);
    assert_eq!(
        house
            .post(&format!("/history/{undone}/undo"), &session, "")
            .status,
        401
    );
}

#[test]
fn codes_are_made_at_the_machine_only() {
    let house = House::open();
    let session = house.pair();
    assert_eq!(house.post("/devices/code", &session, "").status, 404);
    assert_eq!(house.lan.pairing.code(house.service.seconds()), None);
    let page = house.get("/devices", &session);
    page.says("Codes are made at the machine the program runs on");
    house.code();
    let page = house.get("/devices", &session);
    assert!(
        !page.body.contains("<svg"),
        "a code is not shown on the network"
    );
}

/// A label's code leads where a phone can follow, by one press.
#[test]
fn labels_may_print_the_network_s_address_from_now_on() {
    let house = House::open();
    let session = house.pair();
    let origin = house.lan.origins[0].clone();
    let page = house.get("/settings", &session);
    page.says(&format!("Print {origin} from now on"));
    let own = house.post(
        "/settings/address",
        &session,
        "address=https://evil.example",
    );
    assert_eq!(own.status, 404, "{}", own.body);
    let form = format!("address={origin}");
    assert_eq!(house.post("/settings/address", &session, &form).status, 303);
    assert_eq!(house.service.settings().unwrap().address, origin);
    let page = house.get("/settings", &session);
    assert!(!page.body.contains("from now on"), "nothing is left to say");
    assert_eq!(house.lan.told(&house.service).unwrap().labels, None);
}

/// A paired device sees scans and names no folder: which files are read is said at the machine alone.
#[test]
fn a_device_points_at_no_files() {
    let house = House::open();
    let session = house.pair();
    for (path, form) in [
        ("/roll/HM-01/scans/look", "folder=%2F&by=order"),
        ("/roll/HM-01/scans", "folder=%2F&by=order"),
        ("/roll/HM-01/scans/write", ""),
    ] {
        let reply = house.post(path, &session, form);
        assert_eq!(reply.status, 403, "{path}");
        reply.says("folders that are named at the machine this program runs on");
    }
}
