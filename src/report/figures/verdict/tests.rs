//! What the verdict says of two runs, sure and unsure, and of the budget.

use super::*;
use crate::measure::{
    Distribution, Exposed, Fates, LeftOver, MotionToPhoton, PacingError, Picture, RefreshKinds, Repairs, Series,
    Servers,
};

fn scenario(slices: u32) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.slices.count = slices;
    scenario
}

/// 2000 frames whose pose to photon goes up and down by `swing` from stretch to stretch.
fn samples(p50_ms: f64, swing: f64) -> Samples {
    let value = |frame: u32| p50_ms + if (frame / 100).is_multiple_of(2) { swing } else { -swing };
    let series = Series { numbers: (0..2000).collect(), values_ms: (0..2000).map(value).collect() };
    let mut samples = Samples::default();
    samples.pose_to_photon = series;
    samples
}

fn summary(p50: Option<f64>, p99: Option<f64>) -> Summary {
    let load = Servers { encoder: Some(0.61), decoder: Some(0.714), ..Servers::default() };
    Summary {
        name: String::new(),
        frames: 2000,
        warmup: 0,
        seed: 1,
        lead_ms: Some(20.0),
        lead_infinite: false,
        steady: true,
        growth_ms_per_frame: None,
        delivered_share: Some(1.0),
        late_share: Some(0.0),
        refreshes: 2000,
        pose_to_photon_ms: Distribution { p50, p99, ..Distribution::default() },
        motion_to_photon_ms: MotionToPhoton::default(),
        photon_age_ms: Distribution::default(),
        stream_ms: Distribution::default(),
        stream_alone_ms: Distribution::default(),
        stream_waiting_ms: Distribution::default(),
        turnaround_ms: Distribution::default(),
        correction_age_ms: Distribution::default(),
        fates: Fates::default(),
        repairs: Repairs::default(),
        refresh_kinds: RefreshKinds::default(),
        missed_pct: Some(2.1),
        missed_per_minute: None,
        longest_freeze_refreshes: None,
        longest_freeze_ms: None,
        pacing_error: PacingError::default(),
        headroom_ms: None,
        offered_load: load,
        busy: Servers::default(),
        exposed_ms: Exposed::default(),
        left_over: LeftOver::default(),
        picture: Picture::default(),
        budget: Vec::new(),
        allowances: Vec::new(),
    }
}

fn judge(baseline: (&Scenario, &Summary, &Samples), candidate: (&Scenario, &Summary, &Samples)) -> Verdict {
    let measured = |(scenario, summary, samples): (_, _, _)| Measured { scenario, summary, samples };
    Verdict::new(measured(baseline), measured(candidate), None)
}

#[test]
fn a_sure_gain_is_told_with_all_its_numbers() {
    let before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.1));
    let mut after = (scenario(8), summary(Some(31.4), Some(34.0)), samples(31.4, 0.2));
    after.1.missed_pct = Some(0.3);
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!(verdict.tone, Tone::Sooner);
    assert_eq!(verdict.headline, "9.8 ms sooner");
    assert_eq!(
        verdict.sentence,
        "Eight slices show the photons 9.8 ms sooner at the median (41.2 to 31.4 ms), 11.0 ms sooner at p99 (45.0 to \
         34.0 ms); missed refreshes 2.1 % to 0.3 %; encoder 61.0 %, decoder 71.4 % loaded."
    );
    assert_eq!((verdict.uncertainty.as_str(), verdict.gains), (TO_COME, None));
    let measured = [(&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2)]
        .map(|(scenario, summary, samples)| Measured { scenario, summary, samples });
    let told = |gains: &[Option<[f64; 2]>]| Verdict::new(measured[0], measured[1], Some(&Gains::of(gains)));
    // Student's t with one degree of freedom, 12.7062, over the root of 2, times a standard deviation of root 0.02 and root 2.
    let sure = told(&[Some([9.9, 12.0]), Some([9.7, 10.0])]);
    assert_eq!(
        sure.uncertainty,
        "Over 2 seeds 9.8 ± 1.3 ms sooner at the median, 11.0 ± 12.7 ms sooner at p99: mean gains of runs of this length, \
         95 %."
    );
    assert_eq!((sure.tone, sure.headline.as_str()), (Tone::Sooner, "9.8 ms sooner"));
    let unsure = told(&[Some([9.9, 12.0]), Some([-9.7, 10.0])]);
    assert_eq!(unsure.tone, Tone::Unclear);
    let against = told(&[Some([-9.9, -12.0]), Some([-9.8, -12.1])]);
    assert_eq!(against.tone, Tone::Unclear, "this run is not what runs are like");
    let narrow = told(&[Some([9.81, 11.0]), Some([9.81, 11.001])]);
    assert!(narrow.uncertainty.starts_with("Over 2 seeds 9.81 ± 0.01 ms sooner at the median, 11.00 ± 0.01 ms"));
    let some = told(&[Some([9.9, 12.0]), None, Some([9.9, 12.0])]);
    assert_eq!(some.tone, Tone::Unclear);
    assert_eq!(some.uncertainty, "How sure that is, is not known: latency was measured under 2 of 3 seeds.");
}

#[test]
fn a_difference_within_its_uncertainty_is_no_verdict() {
    let before = (scenario(8), summary(Some(31.4), Some(34.0)), samples(31.4, 1.0));
    let after = (scenario(8), summary(Some(31.3), Some(34.1)), samples(31.3, 0.0));
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!((verdict.tone, verdict.headline.as_str()), (Tone::Unclear, "Within uncertainty"));
    let told = "No difference between the baseline and the candidate can be told: median (31.4 to 31.3 ms)";
    assert!(verdict.sentence.starts_with(told), "{}", verdict.sentence);
}

#[test]
fn sooner_at_the_median_and_later_at_p99_is_both() {
    let before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.0));
    let after = (scenario(16), summary(Some(40.2), Some(47.0)), samples(40.2, 0.0));
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!((verdict.tone, verdict.headline.as_str()), (Tone::Mixed, "1.0 ms sooner, p99 later"));
    assert!(verdict.sentence.starts_with("16 slices show the photons 1.0 ms sooner at the median"));
    assert!(verdict.sentence.contains("2.0 ms later at p99"));
}

#[test]
fn what_more_than_slices_brings_is_not_put_down_to_slices() {
    let before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.0));
    let mut after = (scenario(8), summary(Some(31.4), Some(34.0)), samples(31.4, 0.0));
    let told = |after: &(Scenario, Summary, Samples)| {
        judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2)).sentence
    };
    "another".clone_into(&mut after.0.name);
    "with notes".clone_into(&mut after.0.notes);
    assert!(told(&after).starts_with("Eight slices show the photons 9.8 ms sooner"), "{}", told(&after));
    after.0.link.rate_mbps /= 2.0;
    assert!(told(&after).starts_with("The candidate shows the photons 9.8 ms sooner"), "{}", told(&after));
}

#[test]
fn designs_that_differ_at_p99_are_told_by_p99() {
    let before = (scenario(1), summary(Some(37.4), Some(48.8)), samples(37.4, 0.0));
    let after = (scenario(8), summary(Some(37.3), Some(37.8)), samples(37.3, 0.0));
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!((verdict.tone, verdict.headline.as_str()), (Tone::Sooner, "11.0 ms sooner at p99"));
}

#[test]
fn a_pipeline_that_falls_behind_is_named() {
    let before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.0));
    let mut after = (scenario(32), summary(None, None), samples(41.2, 0.0));
    after.1.steady = false;
    after.1.growth_ms_per_frame = Some(0.45);
    after.1.offered_load.decoder = Some(1.04);
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!(verdict.tone, Tone::Unsteady);
    assert_eq!(
        verdict.sentence,
        "32 slices fall behind by 0.45 ms a frame (decoder 104.0 % loaded); there is no latency to compare."
    );
}

#[test]
fn nothing_shown_is_nothing_to_compare() {
    let before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.0));
    let after = (scenario(8), summary(None, None), Samples::default());
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!(verdict.tone, Tone::Nothing);
    assert_eq!(verdict.sentence, "Nothing to compare: no counted frame was shown with eight slices.");
}

#[test]
fn dropped_frames_are_told_beside_what_is_not_missed() {
    let mut before = (scenario(8), summary(Some(41.2), Some(45.0)), samples(41.2, 0.1));
    let mut after = (scenario(32), summary(Some(31.4), Some(34.0)), samples(31.4, 0.2));
    after.1.missed_pct = Some(0.0);
    after.1.delivered_share = Some(0.664);
    after.1.refresh_kinds = RefreshKinds { new: 664, repeat: 336, ..RefreshKinds::default() };
    before.1.refresh_kinds = RefreshKinds { new: 979, miss: 21, ..RefreshKinds::default() };
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert_eq!(verdict.tone, Tone::Mixed, "fewer frames are no plain gain");
    assert_eq!(verdict.headline, "9.8 ms sooner, fewer shown");
    let told = "missed refreshes 2.1 % to 0.0 %, but frames shown 100.0 % to 66.4 % and repeats 0.0 % to 33.6 %; ";
    assert!(verdict.sentence.contains(told), "{}", verdict.sentence);
    before.1.delivered_share = Some(0.996);
    let verdict = judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2));
    assert!(verdict.sentence.contains("frames shown 99.6 % to 66.4 %"), "{}", verdict.sentence);
}

#[test]
fn a_part_of_the_run_tells_the_gain_and_no_time() {
    let before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.1));
    let after = (scenario(8), summary(Some(31.4), Some(34.0)), samples(31.4, 0.2));
    let so_far = Verdict::so_far(
        Measured { scenario: &before.0, summary: &before.1, samples: &before.2 },
        Measured { scenario: &after.0, summary: &after.1, samples: &after.2 },
    );
    assert_eq!((so_far.tone, so_far.headline.as_str()), (Tone::Sooner, "≈ 9.8 ms sooner"));
    assert!(!so_far.sentence.contains("31.4") && !so_far.sentence.contains("41.2"), "{}", so_far.sentence);
    assert!(so_far.sentence.contains("about 9.8 ms sooner at the median and about 11.0 ms sooner at p99"));
    assert!(so_far.uncertainty.starts_with("So far"), "{}", so_far.uncertainty);
}

#[test]
fn a_longer_freeze_is_named() {
    let told = |freezes: [f64; 2]| {
        let mut before = (scenario(1), summary(Some(41.2), Some(45.0)), samples(41.2, 0.1));
        let mut after = (scenario(8), summary(Some(31.4), Some(34.0)), samples(31.4, 0.2));
        for one in [&mut before.0, &mut after.0] {
            one.display.refresh_hz = 72.0;
        }
        [before.1.longest_freeze_ms, after.1.longest_freeze_ms] = freezes.map(Some);
        judge((&before.0, &before.1, &before.2), (&after.0, &after.1, &after.2)).sentence
    };
    assert!(told([13.9, 41.7]).contains("; longest freeze 13.9 to 41.7 ms; "), "{}", told([13.9, 41.7]));
    assert!(!told([13.9, 27.8]).contains("freeze"), "one refresh more is chance");
    assert!(!told([41.7, 13.9]).contains("freeze"));
}

#[test]
fn few_missed_refreshes_are_doubted_where_frames_are_not_shown() {
    use crate::study::{Workspace, answer};
    for (slug, doubted) in [("wired-90-32-slices", true), ("over-budget", true), ("wired-90-8-slices", false)] {
        let scenario = crate::scenario::presets::find(slug).unwrap().scenario();
        let answer = answer(&scenario, &mut Workspace::new());
        let one = Measured { scenario: &answer.scenario, summary: &answer.summary, samples: &answer.samples };
        let verdict = Verdict::new(one, one, None);
        let line = |name: &str| verdict.lines.iter().find(|line| line.name == name).unwrap();
        assert_eq!((line("missed").met, line("missed").doubted), (Met::Yes, doubted), "{slug}");
        assert!(!line("load").doubted);
    }
}
