//! Measured stage times become a scenario: spreads with their goodness of fit, or a table to replay. Knows nothing of the
//! window.

mod adopt;
mod content;
mod course;
mod differences;
mod fit;
mod goodness;
mod jackknife;
mod judge;
mod keep;
mod laws;
mod mapping;
mod measured;
mod passage;
mod read;
#[cfg(test)]
mod reference;
mod regression;
mod replay;
mod size;
mod stage;
mod stalls;
mod watch;
mod whole;
mod words;

pub use adopt::{Adopted, Samples, adopt};
pub use course::{Against, Course};
pub use differences::{Difference, Differences, TOLD};
pub use fit::{Fit, STAGES};
pub use goodness::{Goodness, two_samples};
pub use jackknife::Estimate;
pub use judge::{Comparison, Disagreement, Judgement, QUANTILES};
pub use keep::MappingError;
pub use laws::{Family, Law};
pub use mapping::{Kind, Mapped, Mapping, Role, Unit};
pub use measured::{Measured, Values};
pub use passage::Passage;
pub use read::{BadRow, BadRows, Cells, Column, ReadError, Sheet};
pub use replay::replay;
pub use size::SizeFit;
pub use stage::{FEWEST_FRAMES, StageFit};
pub use watch::{Part, Progress, Watch};
pub use whole::{Calibrated, Fitted, NotFitted, Question, Replayed};
pub use words::Words;
