//! Quantities and money. Pure, exact, and the only place where units are converted.
//!
//! | file | subject |
//! |---|---|
//! | [`exact`] | [`Length`], [`Area`], [`Volume`]: whole nanometres and their products |
//! | [`mod@unit`] | the units of the API with their exact factors |
//! | [`factors`] | the same factors for what is reckoned in `f64` |
//! | [`decimal`] | decimals as people read them: rounded for showing, without trailing zeros |
//! | [`grammar`] | text such as `16 ft 3 1/2 in` to an exact length |
//! | `spelling` | what units are written as, and what is written instead |
//! | [`quantity`] | the outward form `{"value":"16.25","unit":"ft"}` and what a request may send |
//! | [`outdoors`] | distances, speeds and temperatures |
//! | [`decimal_text`] | decimal numbers as text, and what is wrong with them |
//! | [`percent`] | percentages and factors, exact to a millionth |
//! | [`money`] | currency, amounts, unit prices and every rounding of money |
//! | [`show`] | lengths as a foreman writes them, for the working |
//! | `slips` | numbers as people write them elsewhere, and what would be right |
//! | [`tape`] | lengths as a tape shows them, for marks on pieces |

pub mod decimal;
pub mod decimal_text;
pub mod exact;
pub mod factors;
pub mod grammar;
pub mod money;
pub mod outdoors;
pub mod percent;
pub mod quantity;
pub mod show;
pub(crate) mod slips;
mod spelling;
pub mod tape;
pub mod unit;

pub use exact::{Area, Length, Volume};
pub use money::{Amount, Currency, Price};
pub use outdoors::{Distance, Speed, Temperature};
pub use percent::{Factor, Grade, ItemQuantity, Percent};
pub use quantity::{BareNumber, Flow, Level, Quantity, RainRate, UnitSystem};
pub use unit::{Dimension, Unit};
