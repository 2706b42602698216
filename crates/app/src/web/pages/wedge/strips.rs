//! The strips as read: where they came from, and which are left out of the sums.

use super::words;
use crate::service::wedge::TestView;
use crate::web::app::{Answer, App};
use crate::web::form::Form;
use axum::extract::{Path, State};
use maud::{Markup, html};
use spoolwright_core::shelf::{WedgeStripId, WedgeTestId};

pub(super) async fn leave_out(
    State(app): State<App>,
    Path((test, strip)): Path<(i64, i64)>,
    form: Form,
) -> Answer {
    let left_out = form.text("left_out") != "no";
    app.press(&form, format!("/wedge/{test}#strips"), move |s, r| {
        s.leave_strip_out(WedgeTestId(test), WedgeStripId(strip), left_out, r)
    })
    .await
}

pub(super) fn list(view: &TestView) -> Markup {
    html! {
        h2 id="strips" { "Strips as read" }
        ul.rows {
            @for s in &view.strips {
                @let read = s.density.iter().flatten().count();
                li {
                    div.row {
                        span.what {
                            span.name { (words::minutes(s.time_min)) " " (words::channel(s.channel)) @if s.left_out { " " span.stamp.past { "left out" } } }
                            span.more {
                                (read) " of " (s.density.len()) " steps, " (s.source)
                                @if let Some(fog) = s.base_fog { ", base + fog " (words::number(fog, 2)) }
                                @if let Some(sd) = s.density_sd { ", sd " (words::short(sd)) }
                            }
                        }
                        form method="post" action={ "/wedge/" (view.test.id) "/strips/" (s.id) } {
                            (Form::default().request_field())
                            input type="hidden" name="left_out" value=(if s.left_out { "no" } else { "yes" });
                            button.quiet aria-label={ (if s.left_out { "Take in" } else { "Leave out" }) " the " (words::minutes(s.time_min)) " " (words::channel(s.channel)) " strip" } {
                                (if s.left_out { "Take in" } else { "Leave out" })
                            }
                        }
                    }
                }
            }
        }
        div.acts { a.btn href={ "/wedge/" (view.test.id) "/type" } { "More densities" } }
    }
}
