//! Pours: how much concrete to order, which way is cheapest all-in, when the trucks come, and whether the
//! weather allows it.
//!
//! | file | subject |
//! |---|---|
//! | [`request`] | the ways on offer: ready-mix, bags, small mixer; the crew |
//! | [`fault`] | what can be wrong with them |
//! | `quantity` | waste and rounding up to an increment, exactly |
//! | `ready_mix`, `bags`, `mixer` | what each way costs all-in |
//! | `compare` | all ways beside each other; pours of a day together; break-even volumes |
//! | `last_load` | a short last load: take it, order more, or bags for the rest |
//! | `trucks` | truck sequence, interval, number of trucks, time limit |
//! | `weather` | cold, hot, evaporation |

mod bags;
mod compare;
pub mod fault;
mod last_load;
mod mixer;
mod quantity;
mod ready_mix;
pub mod request;
mod trucks;
mod weather;

pub use compare::{
    Comparison, CostLine, Day, Days, Figures, Switch, WayCost, break_even, compare, compare_days,
};
pub use fault::{PourFault, PourWarning};
pub use last_load::{LastLoad, LastLoadChoice, last_load};
pub use quantity::{loads, order, with_waste};
pub use request::{Bags, Crew, Mixer, Pallet, Pour, ReadyMix, ShortLoad, Way};
pub use trucks::{Haul, Sequence, Truck, sequence};
pub use weather::{Weather, WeatherCheck, WeatherLimits, check_weather, evaporation_rate};
