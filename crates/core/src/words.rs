//! Enums whose every value has one fixed word, used alike in files, forms and contracts.

/// Defines such an enum with `ALL`, `word` and `from_word`.
macro_rules! worded {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $value:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
        pub enum $name { $($(#[$vmeta])* $value),+ }

        impl $name {
            /// Every value, in the order a form lists them.
            pub const ALL: &'static [Self] = &[$(Self::$value),+];

            /// The word used in files, forms and contracts.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$value => $word),+ }
            }

            /// The value of that word.
            ///
            /// # Errors
            /// [`crate::Kind::Unknown`], listing the words that are known.
            pub fn from_word(word: &str) -> Result<Self, crate::Error> {
                Self::ALL.iter().copied().find(|v| v.word() == word).ok_or_else(|| {
                    crate::Error::new(
                        crate::Kind::Unknown,
                        crate::words::spoken(stringify!($name)),
                        format!("{word:?}"),
                        Self::ALL.iter().map(|v| v.word()).collect::<Vec<_>>().join(", "),
                        "Use one of these words.",
                    )
                })
            }
        }
    };
}
pub(crate) use worded;

/// An enum's name as a person says it: `RollState` is a roll state.
pub(crate) fn spoken(name: &str) -> String {
    let mut text = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !text.is_empty() {
            text.push(' ');
        }
        text.extend(letter.to_lowercase());
    }
    text
}
