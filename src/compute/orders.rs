//! The order calculators, from bare numbers or for whole site notes.
//!
//! | file | subject |
//! |---|---|
//! | `cut_list` | what is cut from which stock lengths |
//! | `purchase_plan` | what is bought from whom |
//! | `hire_plan` | by which periods a machine is hired |

mod cut_list;
mod hire_plan;
mod purchase_plan;

pub use cut_list::{CutListAnswer, cut_list};
pub use hire_plan::{HireAnswer, hire_plan};
pub use purchase_plan::{PurchaseAnswer, purchase_plan};
