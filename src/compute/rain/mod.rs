//! How hard it rains.
//!
//! | file | subject |
//! |---|---|
//! | `intensity` | one interface for rain given, by formula, or from a table |
//! | `table` | depth by duration and frequency, interpolated |
//! | `reading` | depth, intensity and working of a duration |
//! | `frequency` | return periods and yearly chances |
//! | `point_file` | the file of the NOAA Atlas 14 precipitation frequency server, read as served |
//! | `point_text` | its words and cells |
//! | `error` | why there is no figure |

mod error;
mod frequency;
mod intensity;
mod point_file;
mod point_text;
mod reading;
mod table;

pub use error::RainError;
pub use frequency::{Frequency, yearly_chance};
pub use intensity::{IntensityFormula, Rain, formula_intensity};
pub use point_file::{PointFile, read_point_file};
pub use point_text::{Bound, DataKind, PointUnit, Series};
pub use reading::RainReading;
pub use table::{RainTable, depth_from_intensity_mm, intensity_from_depth_mm_per_h};
