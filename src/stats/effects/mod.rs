//! What changed where something began, against where it had not begun: differences over groups and times,
//! their certainty from other arrangements of the starts, and one series broken at a point where nothing is
//! left to compare with.

pub mod arrangements;
pub mod compared;
pub mod interrupted;
pub mod panel;
pub mod ranked;
pub mod ratio_panel;

pub use arrangements::{Arrangements, Starts};
pub use compared::{Compared, Doubts, Effort, Followed, Found};
pub use panel::{Contrast, Panel, Scales, Window};
pub use ranked::{Inverted, Ranked};
pub use ratio_panel::RatioPanel;
