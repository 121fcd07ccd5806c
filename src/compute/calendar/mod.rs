//! Working calendar as data, and counting on it.
//!
//! | module | holds |
//! |---|---|
//! | [`minutes`] | working time in whole minutes, and the one rounding from hours |
//! | [`holidays`] | holiday rules as data; the US federal set; actual or observed |
//! | [`working`] | [`WorkingCalendar`]: hours by weekday, holidays, extra closures, extra open days |
//! | [`count`] | next working day, adding and counting working days |
//! | [`notice`] | notice before digging, in clear working days |
//! | [`cure`] | cure in calendar days, by a stated time or by strength gain |
//! | [`timeline`] | the minute axis on which plans are computed |
//! | [`noted`] | a value with what the reader must know about it |
//! | [`error`] | what can be wrong, and what would fix it |

pub mod count;
pub mod cure;
pub mod error;
pub mod holidays;
pub mod minutes;
pub mod noted;
pub mod notice;
pub mod timeline;
pub mod working;

pub use cure::{Cure, CureEnd, StrengthGain};
pub use error::CalendarError;
pub use holidays::{HolidayRule, HolidaySet, Observance};
pub use minutes::WorkMinutes;
pub use noted::Noted;
pub use notice::MarkNotice;
pub use timeline::{Moment, Timeline};
pub use working::{CalendarDraft, Closure, WeekHours, WorkingCalendar};
