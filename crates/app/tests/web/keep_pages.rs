//! Pages of places, purchases and costs: each shows, saves, refuses at its field with nothing lost of what was typed, and
//! takes back.

use super::*;
use spoolwright::service::rolls::About;

fn changes(site: &Site) -> usize {
    let all = site.service.history(About::Everything, None).unwrap();
    all.first().map_or(0, |e| e.id.0 as usize)
}

struct Case {
    address: &'static str,
    good: &'static str,
    bad: &'static str,
    /// Id of the field at fault.
    field: &'static str,
    /// What was typed beside it, which must not be lost.
    besides: &'static str,
}

const CASES: &[Case] = &[
    Case {
        address: "/places",
        good: "name=Attic&kind=cool&temperature=12+C&humidity=60&note=",
        bad: "name=Attic&kind=cool&temperature=warm&humidity=61&note=dusty",
        field: "temperature",
        besides: "dusty",
    },
    Case {
        address: "/places/1",
        good: "name=Darkroom+shelf&kind=room&temperature=22+C&humidity=48&note=",
        bad: "name=Upper+shelf&kind=room&temperature=22+C&humidity=480&note=",
        field: "humidity",
        besides: "Upper shelf",
    },
    Case {
        address: "/kept/can/2",
        good: "place=Chest+freezer&since=",
        bad: "place=Chest+freezer&since=2031-01-01",
        field: "since",
        besides: "Chest freezer",
    },
    Case {
        address: "/purchases",
        good: "what=cassettes&price=12&quantity=5&uses_each=&bath=&day=&note=",
        bad: "what=cassettes&price=lots&quantity=5&uses_each=&bath=&day=&note=second+hand",
        field: "price",
        besides: "second hand",
    },
    Case {
        address: "/purchases/1",
        good: "what=cassettes&price=40&quantity=15&uses_each=25&bath=&day=2026-04-01&note=",
        bad: "what=other&price=40&quantity=15&uses_each=25&bath=&day=2026-04-01&note=by+post",
        field: "uses_each",
        besides: "by post",
    },
];

#[tokio::test(flavor = "multi_thread")]
async fn forms_save_refuse_and_take_back() {
    let site = Site::demo();
    for c in CASES {
        let before = changes(&site);
        let page = site.post(c.address, c.bad).await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{}",
            c.address
        );
        page.says(&format!("{}-fault", c.field));
        page.says(c.besides);
        assert_eq!(changes(&site), before, "{}", c.address);

        let form = format!("{}&request=once-{}", c.good, c.address.len());
        let page = site.post_and_follow(c.address, &form).await;
        page.says(">Undo<");
        assert_eq!(changes(&site), before + 1, "{}", c.address);
        site.post_and_follow(c.address, &form).await;
        assert_eq!(changes(&site), before + 1, "{}: sent twice", c.address);
        let undo = format!("/history/{}/undo", before + 1);
        site.post_and_follow(&undo, "back=%2Fplaces").await;
        assert_eq!(changes(&site), before + 2, "{}: undone", c.address);
    }
    let before = changes(&site);
    site.post_and_follow("/places/3/close", "closed=yes")
        .await
        .says("Put away");
    site.post_and_follow("/places/3/close", "closed=no").await;
    assert_eq!(changes(&site), before + 2);
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_shows() {
    let site = Site::demo();
    for (address, words) in [
        ("/", "its date comes in 60 days"),
        ("/more", "what a usable frame came to"),
        ("/places", "Kitchen refrigerator"),
        ("/places/2", "can NF"),
        ("/places/soon", "can NF"),
        ("/places/warmup", "Where it lay"),
        (
            "/places/warmup?package=can_35mm_30m&from=Chest+freezer&to=20+C&humidity=",
            ">5<span",
        ),
        ("/kept/can/4", "Before you open it"),
        ("/kept/roll/1", "Nobody has said where it lies."),
        ("/cans/4", "Lies in Kitchen refrigerator"),
        ("/roll/HM2-04", "/kept/roll/"),
        ("/cost", "A usable frame, all in all"),
        ("/cost?by=stock", "What a usable frame came to by stock"),
        ("/cost?by=year", "scope=\"row\">2026<"),
        ("/cost?by=moon", "By can"),
        ("/purchases", "15 cassettes"),
        ("/purchases/2", "Keep the changes"),
    ] {
        let page = site.get(address).await;
        assert_eq!(page.status, StatusCode::OK, "{address}");
        assert!(
            page.text.contains(words),
            "{address}: no {words}\n{}",
            page.text
        );
    }
    for address in [
        "/places/99",
        "/kept/can/99",
        "/kept/shoe/1",
        "/purchases/99",
    ] {
        assert_eq!(
            site.get(address).await.status,
            StatusCode::NOT_FOUND,
            "{address}"
        );
    }
    let refused = site.get("/places/warmup?package=cassette&from=warm").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    refused.says("from-fault");
    for (address, rows) in [
        ("/cost.csv", 12),
        ("/cost.csv?by=year", 3),
        ("/cost/rolls.csv", 30),
    ] {
        let table = site.get(address).await;
        assert_eq!(table.header("content-type"), "text/csv; charset=utf-8");
        assert!(
            table
                .header("content-disposition")
                .starts_with("attachment")
        );
        assert!(table.text.starts_with("by,name") || table.text.starts_with("roll,film"));
        assert!(
            table.text.lines().count() >= rows - 1,
            "{address}: {}",
            table.text
        );
    }
    let nothing = Site::empty();
    for address in [
        "/places",
        "/places/soon",
        "/cost",
        "/purchases",
        "/cost.csv",
    ] {
        assert_eq!(
            nothing.get(address).await.status,
            StatusCode::OK,
            "{address}"
        );
    }
}
