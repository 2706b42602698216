//! The wedge bench: tests begun, strips read in, curves and what they say, stock cards, two tests compared.

mod card;
mod compare;
mod curves;
mod form;
mod list;
mod one;
mod read;
mod scan;
mod shots;
mod speed;
mod strips;
mod target;
mod words;

pub(crate) use card::of_stock;
pub(crate) use list::under_way;
pub(crate) use shots::{on_roll, on_ticket};

use crate::web::app::App;
use axum::Router;
use axum::routing::{get, post};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/wedge", get(list::show).post(form::begin))
        .route("/wedge/new", get(form::blank))
        .route("/wedge/compare", get(compare::show))
        .route("/wedge/{id}", get(one::show))
        .route("/wedge/{id}/edit", get(form::edit).post(form::change))
        .route("/wedge/{id}/close", post(form::close))
        .route("/wedge/{id}/type", get(read::grid).post(read::put_grid))
        .route("/wedge/{id}/table", get(read::table).post(read::put_table))
        .route("/wedge/{id}/table.csv", get(read::empty_table))
        .route("/wedge/{id}/scan", get(scan::show).post(scan::keep))
        .route("/wedge/{id}/scan/picture", post(scan::take_in))
        .route("/wedge/picture/{number}", get(scan::copy))
        .route("/wedge/{id}/strips/{strip}", post(strips::leave_out))
        .route("/wedge/{id}/target", get(target::part))
        .route("/wedge/{id}/card", get(card::blank).post(card::make))
        .route("/cards/{id}", get(card::show))
}
