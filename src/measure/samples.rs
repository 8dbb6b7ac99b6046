//! Single values behind the distributions, for histograms and strips.

/// Values with the numbers of the frames or refreshes that they belong to, ascending.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// Number of the frame or refresh of each value.
    pub numbers: Vec<u32>,
    /// Values \[ms\].
    pub values_ms: Vec<f64>,
}

impl Series {
    /// Number and value \[ms\] of each.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = (u32, f64)> + '_ {
        self.numbers.iter().copied().zip(self.values_ms.iter().copied())
    }

    /// Empties it and keeps its memory.
    pub(super) fn clear(&mut self) {
        self.numbers.clear();
        self.values_ms.clear();
    }

    /// Adds a value.
    pub(super) fn push(&mut self, number: u32, value_ms: f64) {
        self.numbers.push(number);
        self.values_ms.push(value_ms);
    }
}

/// All single values of a run that count. Its arrays are used again when it is filled anew.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Samples {
    /// Pose to photon of shown frames, by frame.
    pub pose_to_photon: Series,
    /// Age of the pose of what is on display, by refresh.
    pub photon_age: Series,
    /// Age of the pose that late correction used, by refresh.
    pub correction_age: Series,
    /// Stream latency of frames that got ready, by frame.
    pub stream: Series,
    /// The part of it that the frame would take alone, by frame.
    pub stream_alone: Series,
    /// The rest of it, by frame.
    pub stream_waiting: Series,
    /// Turnaround of frames that got ready, by frame.
    pub turnaround: Series,
    /// Slack of frames that have a target and got ready, negative when late, by frame.
    pub slack: Series,
    /// Pose to photon of shown frames less the correction age at that refresh, by frame: what late correction makes up.
    pub corrected: Series,
    /// Values to be put in order.
    pub(super) scratch: Vec<f64>,
}

impl Samples {
    /// Empties all series and keeps their memory.
    pub(super) fn clear(&mut self) {
        for series in [
            &mut self.pose_to_photon,
            &mut self.photon_age,
            &mut self.correction_age,
            &mut self.stream,
            &mut self.stream_alone,
            &mut self.stream_waiting,
            &mut self.turnaround,
            &mut self.slack,
            &mut self.corrected,
        ] {
            series.clear();
        }
    }
}
