//! The sheet every page is printed on: head, the main ways, what was just done.

use super::assets;
use super::here::{Here, Who};
use axum::response::Html;
use maud::{DOCTYPE, Markup, html};

/// The main ways through the program, in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Bench,
    Shelf,
    Plan,
    Rolls,
    Wet,
    More,
}

impl Way {
    const ALL: [(Self, &'static str, &'static str); 6] = [
        (Self::Bench, "/", "Bench"),
        (Self::Shelf, "/cans", "Shelf"),
        (Self::Plan, "/plan", "Plan"),
        (Self::Rolls, "/rolls", "Rolls"),
        (Self::Wet, "/wet", "Wet"),
        (Self::More, "/more", "More"),
    ];
}

/// One page: where it stands, what it is called, what it says.
pub(crate) struct Page {
    way: Option<Way>,
    title: String,
    sheet: String,
    notice: Option<Markup>,
    scripts: Vec<&'static str>,
}

impl Page {
    pub(crate) fn new(way: Way, title: impl Into<String>) -> Self {
        Self {
            way: Some(way),
            title: title.into(),
            sheet: String::new(),
            notice: None,
            scripts: Vec::new(),
        }
    }

    /// The small print at the right of the head: what kind of sheet this is.
    pub(crate) fn sheet(mut self, name: impl Into<String>) -> Self {
        self.sheet = name.into();
        self
    }

    /// What was just done, above everything else.
    pub(crate) fn notice(mut self, notice: Option<Markup>) -> Self {
        self.notice = notice;
        self
    }

    /// A module of our own that makes something live; the page must work without it.
    pub(crate) fn script(mut self, name: &'static str) -> Self {
        self.scripts.push(name);
        self
    }

    pub(crate) fn show(self, body: Markup) -> Html<String> {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                    title { (self.title) " · Spoolwright" }
                    link rel="stylesheet" href=(assets::address("app.css"));
                    link rel="icon" type="image/svg+xml" href=(assets::address("icon.svg"));
                    @for script in &self.scripts {
                        script type="module" src=(assets::address(script)) {}
                    }
                }
                body {
                    a.skip href="#main" { "Skip to the work" }
                    header.head {
                        a.mark href="/" { "Spoolwright" }
                        span.sheet-name { (self.sheet) }
                    }
                    @if Here::now().who != Who::Stranger { nav.ways aria-label="Main" {
                        ul {
                            @for (way, href, name) in Way::ALL {
                                li { a href=(href) aria-current=[(self.way == Some(way)).then_some("page")] { (name) } }
                            }
                        }
                    } }
                    main id="main" tabindex="-1" {
                        @if Here::now().demo { p.demo { "Demo: nothing here is kept." } }
                        @if let Some(notice) = &self.notice { (notice) }
                        (body)
                    }
                }
            }
        };
        Html(page.into_string())
    }
}

/// A page that stands nowhere in particular, such as a refusal.
pub(crate) fn bare(title: &str, body: Markup) -> Html<String> {
    Page {
        way: None,
        title: title.to_owned(),
        sheet: String::new(),
        notice: None,
        scripts: Vec::new(),
    }
    .show(body)
}
