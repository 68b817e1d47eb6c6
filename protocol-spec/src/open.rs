//! Enumerations that stay open: a value from a later minor version is carried, not refused.

/// Declares an enumeration over a raw integer with an `Unknown` variant that keeps the raw value.
macro_rules! open_enum {
    (
        $(#[$meta:meta])*
        pub enum $name:ident: $raw:ty {
            $( $(#[$vmeta:meta])* $variant:ident = $value:literal => $text:literal, )*
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $( $(#[$vmeta])* $variant, )*
            /// A value that this version does not define.
            Unknown($raw),
        }

        impl $name {
            /// Every value that this version defines, in order of its code.
            pub const ALL: &[$name] = &[$( $name::$variant, )*];

            /// The typed value of a raw code; codes without a meaning here are kept as `Unknown`.
            pub const fn from_raw(raw: $raw) -> Self {
                match raw {
                    $( $value => Self::$variant, )*
                    other => Self::Unknown(other),
                }
            }

            /// The raw code as it stands in the attribute value.
            pub const fn raw(self) -> $raw {
                match self {
                    $( Self::$variant => $value, )*
                    Self::Unknown(other) => other,
                }
            }

            /// The name used in the profile document and in output; `unknown` for an undefined code.
            pub const fn name(self) -> &'static str {
                match self {
                    $( Self::$variant => $text, )*
                    Self::Unknown(_) => "unknown",
                }
            }
        }
    };
}
pub(crate) use open_enum;
