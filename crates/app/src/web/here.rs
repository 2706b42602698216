//! What every page knows of the asking it answers: its own address, and whether anything is kept.
//!
//! The guard in front of all pages says it once for each request. Nothing here is trusted: an address
//! that comes back in a form is checked to be one of our own pages.

use axum::http::Uri;
use std::sync::Arc;

tokio::task_local! {
    static HERE: Here;
}

/// Who asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Who {
    /// Someone at this machine.
    #[default]
    Machine,
    /// A paired device, by its number.
    Device(i64),
    /// Someone on the network without a session.
    Stranger,
}

/// What is known of the present asking.
#[derive(Debug, Clone, Default)]
pub(crate) struct Here {
    /// Path and query.
    pub(crate) address: Arc<str>,
    /// Nothing is kept: the store is a demo.
    pub(crate) demo: bool,
    /// Who asks.
    pub(crate) who: Who,
}

impl Here {
    /// Answers an asking with this known to every page on the way.
    pub(crate) async fn scope<T>(self, answer: impl Future<Output = T>) -> T {
        HERE.scope(self, answer).await
    }

    /// What is known now; nothing outside an asking.
    pub(crate) fn now() -> Self {
        HERE.try_with(Clone::clone).unwrap_or_default()
    }

    /// The address of this page without what was just done.
    pub(crate) fn without_done(&self) -> String {
        let (path, query) = self.address.split_once('?').unwrap_or((&self.address, ""));
        let kept: Vec<&str> = query
            .split('&')
            .filter(|part| !part.is_empty() && !part.starts_with("done="))
            .collect();
        if kept.is_empty() {
            path.to_owned()
        } else {
            format!("{path}?{}", kept.join("&"))
        }
    }
}

/// An address given in a form, if it is one of this program's own pages.
pub(crate) fn own_page(given: &str) -> Option<Uri> {
    let plain = given.len() <= 300
        && given.starts_with('/')
        && !given.starts_with("//")
        && given
            .chars()
            .all(|c| c.is_ascii_graphic() && c != '\\' && c != '#');
    let uri: Uri = plain.then(|| given.parse().ok()).flatten()?;
    (uri.scheme().is_none() && uri.authority().is_none()).then_some(uri)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_own_pages_are_gone_back_to() {
        for own in ["/", "/cans/3", "/history?can=3&before=9", "/roll/HM-01"] {
            assert_eq!(own_page(own).unwrap().to_string(), own);
        }
        for other in [
            "",
            "cans",
            "//evil.example",
            "/\\evil.example",
            "http://evil.example/",
            "/cans\r\nset-cookie: a=b",
            "/a b",
        ] {
            assert!(own_page(other).is_none(), "{other:?}");
        }
    }

    #[test]
    fn an_address_without_what_was_done() {
        let here = |address: &str| Here {
            address: address.into(),
            ..Here::default()
        };
        assert_eq!(here("/cans/3?done=7").without_done(), "/cans/3");
        assert_eq!(
            here("/history?can=3&done=7&before=9").without_done(),
            "/history?can=3&before=9"
        );
    }
}
