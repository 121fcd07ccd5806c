//! One declaration makes the struct, its reader, its writer and its description.

/// Declares an object shape: a struct whose members each implement [`crate::wire::Wire`].
///
/// The doc comments become the descriptions in the OpenAPI document.
#[macro_export]
macro_rules! wire_object {
    (
        $(#[doc = $doc:literal])+
        $(#[derive($($derive:ident),+)])?
        pub struct $name:ident {
            $( $(#[doc = $fdoc:literal])+ pub $field:ident : $ty:ty, )*
        }
        $(example = $example:expr;)?
    ) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, PartialEq, Eq $(, $($derive),+)?)]
        pub struct $name { $( $(#[doc = $fdoc])+ pub $field: $ty, )* }

        impl ::serde::Serialize for $name {
            fn serialize<S: ::serde::Serializer>(&self, serializer: S) -> ::std::result::Result<S::Ok, S::Error> {
                use ::serde::ser::SerializeMap as _;
                let mut map = serializer.serialize_map(None)?;
                $( if !$crate::wire::Wire::is_absent(&self.$field) {
                    map.serialize_entry(stringify!($field), &self.$field)?;
                } )*
                map.end()
            }
        }

        impl ::utoipa::PartialSchema for $name {
            fn schema() -> ::utoipa::openapi::RefOr<::utoipa::openapi::Schema> {
                use ::utoipa::openapi::schema::{AdditionalProperties, ObjectBuilder};
                let mut object = ObjectBuilder::new()
                    .description(Some([$($doc),+].map(str::trim).join(" ")))
                    .additional_properties(Some(AdditionalProperties::FreeForm(false)));
                $( {
                    object = object.property(
                        stringify!($field),
                        $crate::wire::described(
                            <$ty as $crate::wire::Wire>::member_schema(),
                            &[$($fdoc),+].map(str::trim).join(" "),
                        ),
                    );
                    if <$ty as $crate::wire::Wire>::when_absent().is_none() {
                        object = object.required(stringify!($field));
                    }
                } )*
                $( object = object.examples([$example]); )?
                object.into()
            }
        }

        impl ::utoipa::ToSchema for $name {
            fn name() -> ::std::borrow::Cow<'static, str> { stringify!($name).into() }
            fn schemas(into: &mut Vec<(String, ::utoipa::openapi::RefOr<::utoipa::openapi::Schema>)>) {
                $( <$ty as $crate::wire::Wire>::register(into); )*
                let _ = into;
            }
        }

        impl $crate::wire::Wire for $name {
            $crate::wire_named!();

            fn read(
                value: &$crate::wire::Value<'_>,
                at: &$crate::wire::At<'_>,
                faults: &mut $crate::wire::Faults,
            ) -> Option<Self> {
                let members = $crate::wire::Members::open(value, &[$(stringify!($field)),*], at, faults)?;
                $( let $field = members.take::<$ty>(stringify!($field), at, faults); )*
                Some(Self { $( $field: $field?, )* })
            }

            #[allow(unused_variables, reason = "an object without members")]
            fn stand_in(extreme: $crate::wire::read::Extreme) -> Option<Self> {
                Some(Self { $( $field: <$ty as $crate::wire::Wire>::stand_in(extreme)?, )* })
            }
        }
    };
}

/// Declares a closed list of words.
#[macro_export]
macro_rules! wire_enum {
    (
        $(#[doc = $doc:literal])+
        pub enum $name:ident { $( $(#[doc = $vdoc:literal])+ $variant:ident = $word:literal, )+ }
    ) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $( $(#[doc = $vdoc])+ $variant, )+ }

        impl $name {
            /// Every value, in the order of the declaration.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word used in JSON.
            pub const fn word(self) -> &'static str {
                match self { $( $name::$variant => $word, )+ }
            }

            /// The value a word stands for.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $( $word => Some($name::$variant), )+ _ => None }
            }
        }

        impl $crate::wire::Words for $name {
            fn all() -> &'static [Self] { Self::ALL }

            fn as_word(self) -> &'static str { self.word() }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result { f.write_str(self.word()) }
        }

        impl ::serde::Serialize for $name {
            fn serialize<S: ::serde::Serializer>(&self, s: S) -> ::std::result::Result<S::Ok, S::Error> {
                s.serialize_str(self.word())
            }
        }

        impl ::utoipa::PartialSchema for $name {
            fn schema() -> ::utoipa::openapi::RefOr<::utoipa::openapi::Schema> {
                let mut text = [$($doc),+].map(str::trim).join(" ");
                $( text.push_str(concat!("\n- `", $word, "`: "));
                   text.push_str(&[$($vdoc),+].map(str::trim).join(" ")); )+
                ::utoipa::openapi::schema::ObjectBuilder::new()
                    .schema_type(::utoipa::openapi::schema::Type::String)
                    .description(Some(text))
                    .enum_values(Some([$($word),+]))
                    .into()
            }
        }

        impl ::utoipa::ToSchema for $name {
            fn name() -> ::std::borrow::Cow<'static, str> { stringify!($name).into() }
        }

        impl $crate::wire::Wire for $name {
            $crate::wire_named!();

            fn read(
                value: &$crate::wire::Value<'_>,
                at: &$crate::wire::At<'_>,
                faults: &mut $crate::wire::Faults,
            ) -> Option<Self> {
                let Some(word) = value.as_str() else {
                    $crate::wire::wrong_kind(value, "one of the listed words", at, faults);
                    return None;
                };
                let found = Self::from_word(word);
                if found.is_none() {
                    faults
                        .value(at, "unknown_value", word, format!("`{}` is not one of the words accepted here",
                            word.chars().take(60).collect::<String>()))
                        .allow([$($word),+]);
                }
                found
            }

            fn stand_in(extreme: $crate::wire::read::Extreme) -> Option<Self> {
                extreme.of(Self::ALL.first(), Self::ALL.last()).copied()
            }
        }
    };
}

/// Declares a union of object shapes told apart by their `kind` member.
#[macro_export]
macro_rules! wire_union {
    (
        $(#[doc = $doc:literal])+
        pub enum $name:ident {
            $( $(#[doc = $vdoc:literal])+ $variant:ident as $vname:ident = $word:literal {
                $( $(#[doc = $fdoc:literal])+ $field:ident : $ty:ty, )*
            } )+
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, PartialEq, Eq)]
        pub enum $name {
            $( $(#[doc = $vdoc])+ $variant { $( $(#[doc = $fdoc])+ $field: $ty, )* }, )+
        }

        impl $name {
            /// The word in `kind`.
            pub const fn kind(&self) -> &'static str {
                match self { $( $name::$variant { .. } => $word, )+ }
            }
        }

        impl ::serde::Serialize for $name {
            fn serialize<S: ::serde::Serializer>(&self, serializer: S) -> ::std::result::Result<S::Ok, S::Error> {
                use ::serde::ser::SerializeMap as _;
                let mut map = serializer.serialize_map(None)?;
                map.serialize_entry("kind", self.kind())?;
                match self {
                    $( $name::$variant { $($field,)* } => {
                        $( if !$crate::wire::Wire::is_absent($field) {
                            map.serialize_entry(stringify!($field), $field)?;
                        } )*
                    } )+
                }
                map.end()
            }
        }

        impl ::utoipa::PartialSchema for $name {
            fn schema() -> ::utoipa::openapi::RefOr<::utoipa::openapi::Schema> {
                use ::utoipa::openapi::schema::{Discriminator, OneOfBuilder, Ref};
                let mut mapping = ::std::collections::BTreeMap::new();
                let mut union = OneOfBuilder::new()
                    .description(Some([$($doc),+].map(str::trim).join(" ")));
                $(
                    let reference = Ref::from_schema_name(stringify!($vname));
                    mapping.insert($word.to_owned(), reference.ref_location.clone());
                    union = union.item(reference);
                )+
                union
                    .discriminator(Some(Discriminator::with_mapping("kind", mapping)))
                    .into()
            }
        }

        impl ::utoipa::ToSchema for $name {
            fn name() -> ::std::borrow::Cow<'static, str> { stringify!($name).into() }
            fn schemas(into: &mut Vec<(String, ::utoipa::openapi::RefOr<::utoipa::openapi::Schema>)>) {
                use ::utoipa::openapi::schema::{AdditionalProperties, ObjectBuilder, Type};
                $( if !into.iter().any(|(have, _)| have == stringify!($vname)) {
                    #[allow(unused_mut, reason = "a variant without members changes nothing")]
                    let mut object = ObjectBuilder::new()
                        .description(Some([$($vdoc),+].map(str::trim).join(" ")))
                        .additional_properties(Some(AdditionalProperties::FreeForm(false)))
                        .property(
                            "kind",
                            ObjectBuilder::new()
                                .schema_type(Type::String)
                                .description(Some(concat!("Says which of them it is: `", $word, "`.")))
                                .enum_values(Some([$word])),
                        )
                        .required("kind");
                    $( object = object.property(
                        stringify!($field),
                        $crate::wire::described(
                            <$ty as $crate::wire::Wire>::member_schema(),
                            &[$($fdoc),+].map(str::trim).join(" "),
                        ),
                    );
                    if <$ty as $crate::wire::Wire>::when_absent().is_none() {
                        object = object.required(stringify!($field));
                    } )*
                    into.push((stringify!($vname).to_owned(), object.into()));
                    $( <$ty as $crate::wire::Wire>::register(into); )*
                } )+
            }
        }

        impl $crate::wire::Wire for $name {
            $crate::wire_named!();

            fn read(
                value: &$crate::wire::Value<'_>,
                at: &$crate::wire::At<'_>,
                faults: &mut $crate::wire::Faults,
            ) -> Option<Self> {
                match $crate::wire::kind_of(value, &[$($word),+], at, faults)? {
                    $( $word => {
                        let members = $crate::wire::Members::open(
                            value, &["kind", $(stringify!($field)),*], at, faults)?;
                        $( let $field = members.take::<$ty>(stringify!($field), at, faults); )*
                        let _ = &members;
                        Some($name::$variant { $( $field: $field?, )* })
                    } )+
                    _ => None,
                }
            }

            fn stand_in(extreme: $crate::wire::read::Extreme) -> Option<Self> {
                let each: &[fn($crate::wire::read::Extreme) -> Option<Self>] = &[$( |extreme| {
                    let _ = extreme;
                    Some($name::$variant { $( $field: <$ty as $crate::wire::Wire>::stand_in(extreme)?, )* })
                } ),+];
                extreme.of(each.first(), each.last()).and_then(|make| make(extreme))
            }
        }
    };
}

/// The two schema methods of a named [`crate::wire::Wire`] type.
#[macro_export]
macro_rules! wire_named {
    () => {
        fn member_schema() -> ::utoipa::openapi::RefOr<::utoipa::openapi::Schema> {
            $crate::wire::read::reference_to::<Self>()
        }

        fn register(into: &mut Vec<(String, ::utoipa::openapi::RefOr<::utoipa::openapi::Schema>)>) {
            $crate::wire::read::register_named::<Self>(into);
        }
    };
}
