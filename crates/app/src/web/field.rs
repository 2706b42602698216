//! The fields of a form: label above, hint and fault beside it, a control large enough for a thumb.

use super::form::Form;
use maud::{Markup, html};

/// A field of a form: its label, its hint, its control.
pub(crate) struct Field<'a> {
    form: &'a Form,
    name: &'a str,
    /// Its id on the page: its name, unless several forms of the page have a field of that name.
    id: String,
    label: &'a str,
    hint: &'a str,
    unit: String,
    loud: bool,
    first: bool,
    needed: bool,
    offers: &'a [String],
}

impl Form {
    /// A field to be shown by one of its controls.
    pub(crate) fn field<'a>(&'a self, name: &'a str, label: &'a str) -> Field<'a> {
        Field {
            form: self,
            name,
            id: name.to_owned(),
            label,
            hint: "",
            unit: String::new(),
            loud: false,
            first: false,
            needed: false,
            offers: &[],
        }
    }
}

impl Field<'_> {
    pub(crate) fn hint<'b>(self, hint: &'b str) -> Field<'b>
    where
        Self: 'b,
    {
        Field { hint, ..self }
    }
    /// The unit printed after the number.
    pub(crate) fn unit(mut self, unit: impl Into<String>) -> Self {
        self.unit = unit.into();
        self
    }
    /// Typed large: the one number the page is about.
    pub(crate) fn loud(mut self) -> Self {
        self.loud = true;
        self
    }
    /// Has the cursor when the page opens.
    pub(crate) fn first(mut self) -> Self {
        self.first = true;
        self
    }
    /// Told apart from a field of the same name in another form of the page.
    pub(crate) fn of(mut self, form: &str) -> Self {
        self.id = format!("{form}-{}", self.name);
        self
    }
    /// Words that a tap puts in.
    pub(crate) fn offering<'b>(self, offers: &'b [String]) -> Field<'b>
    where
        Self: 'b,
    {
        Field { offers, ..self }
    }
    /// May not be left empty.
    pub(crate) fn needed(mut self) -> Self {
        self.needed = true;
        self
    }

    fn wrap(&self, control: Markup) -> Markup {
        html! {
            div.field {
                label for=(self.id) { (self.label) }
                @if !self.hint.is_empty() { p.hint id={ (self.id) "-hint" } { (self.hint) } }
                (control)
                (self.faults())
            }
        }
    }

    /// What is allowed, right at the field that was refused.
    fn faults(&self) -> Markup {
        html! {
            @if let Some(fault) = self.form.fault(self.name) {
                p.fault id={ (self.id) "-fault" } { "Allowed: " (fault.allowed) "." }
            }
        }
    }

    fn described(&self) -> Option<String> {
        let hint = (!self.hint.is_empty()).then(|| format!("{}-hint", self.id));
        let fault = self
            .form
            .is_wrong(self.name)
            .map(|_| format!("{}-fault", self.id));
        let all: Vec<String> = fault.into_iter().chain(hint).collect();
        (!all.is_empty()).then(|| all.join(" "))
    }

    fn input(&self, kind: &str, mode: Option<&str>) -> Markup {
        html! {
            input id=(self.id) name=(self.name) type=(kind) inputmode=[mode] value=(self.form.text(self.name))
                autocomplete="off" aria-describedby=[self.described()] aria-invalid=[self.form.is_wrong(self.name)]
                class=[self.loud.then_some("loud-input")] autofocus[self.first] required[self.needed]
                list=[(!self.offers.is_empty()).then(|| format!("{}-offers", self.id))];
            @if !self.offers.is_empty() {
                datalist id={ (self.id) "-offers" } { @for word in self.offers { option value=(word) {} } }
            }
        }
    }

    /// One line of text.
    pub(crate) fn text(self) -> Markup {
        let input = self.input("text", None);
        self.wrap(self.beside_unit(input))
    }

    /// A number, typed with the number keys.
    pub(crate) fn number(self) -> Markup {
        self.numeric("decimal")
    }

    /// A whole number.
    pub(crate) fn whole(self) -> Markup {
        self.numeric("numeric")
    }

    fn numeric(self, mode: &str) -> Markup {
        let input = self.input("text", Some(mode));
        self.wrap(self.beside_unit(input))
    }

    fn beside_unit(&self, input: Markup) -> Markup {
        // A value that says its own unit, such as "30.48 m", is not followed by another.
        let says_its_own = self.form.text(self.name).ends_with(char::is_alphabetic);
        html! {
            @if self.unit.is_empty() || says_its_own { (input) } @else { div.with-unit { (input) span.unit { (self.unit) } } }
        }
    }

    /// A day.
    pub(crate) fn date(self) -> Markup {
        self.wrap(self.input("date", None))
    }

    /// A day with its minute; a day alone, once there, stays one.
    pub(crate) fn moment(self) -> Markup {
        let there = self.form.text(self.name);
        let kind = if there.is_empty() || there.contains('T') {
            "datetime-local"
        } else {
            "text"
        };
        self.wrap(self.input(kind, None))
    }

    /// Several lines of text.
    pub(crate) fn lines(self) -> Markup {
        self.wrap(html! {
            textarea id=(self.id) name=(self.name) rows="3" aria-describedby=[self.described()] {
                (self.form.text(self.name))
            }
        })
    }

    /// One of a list, as (value, words).
    pub(crate) fn select<V: AsRef<str>, W: AsRef<str>>(self, options: &[(V, W)]) -> Markup {
        let chosen = self.form.text(self.name);
        self.wrap(html! {
            select id=(self.id) name=(self.name) aria-describedby=[self.described()]
                aria-invalid=[self.form.is_wrong(self.name)] autofocus[self.first] {
                // What is there stays chosen although the list does not offer it: else saving would change it.
                @if !chosen.is_empty() && options.iter().all(|(value, _)| value.as_ref() != chosen) {
                    option value=(chosen) selected { (chosen) }
                }
                @for (value, words) in options {
                    option value=(value.as_ref()) selected[value.as_ref() == chosen] { (words.as_ref()) }
                }
            }
        })
    }

    /// One of a few, each with a large target and a word of explanation.
    pub(crate) fn radios(self, options: &[(&str, &str, &str)]) -> Markup {
        self.choices("radio", options)
    }

    /// Any of a few.
    pub(crate) fn boxes(self, options: &[(&str, &str, &str)]) -> Markup {
        self.choices("checkbox", options)
    }

    fn choices(self, kind: &str, options: &[(&str, &str, &str)]) -> Markup {
        html! {
            fieldset.field id=(self.id) aria-describedby=[self.described()] {
                legend { (self.label) }
                @if !self.hint.is_empty() { p.hint id={ (self.id) "-hint" } { (self.hint) } }
                @for (value, words, more) in options {
                    label.choice {
                        input type=(kind) name=(self.name) value=(value) checked[self.form.all(self.name).any(|v| v.split(',').any(|part| part == *value))];
                        span { (words) @if !more.is_empty() { " " span.more { (more) } } }
                    }
                }
                (self.faults())
            }
        }
    }

    /// One box to tick.
    pub(crate) fn tick(self) -> Markup {
        html! {
            div.field {
                input type="hidden" name=(self.name) value="no";
                label.choice {
                    input type="checkbox" name=(self.name) value="yes" checked[self.form.ticked(self.name)];
                    span { (self.label) @if !self.hint.is_empty() { " " span.more { (self.hint) } } }
                }
            }
        }
    }
}
