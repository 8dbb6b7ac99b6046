//! What is calibrated leaves the window, and every part of the page is looked at.

use super::*;
use crate::app::tests::pictures::{SIZES, THEMES, keep, shown, texts};

#[test]
fn figures_scenario_and_frames_leave_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = opened(&example());
    press(&mut window, "Fit");
    finish(&mut window);
    ask(&mut window, Ask::Turn(Tab::Compare));
    window.run_steps(SETTLING);
    for (title, name, figure) in [
        ("Quantiles", "q.csv", MeasuredFigure::Quantiles),
        ("Encode over time", "t.svg", MeasuredFigure::Course(Stands::Encode)),
        ("Encode", "o.png", MeasuredFigure::Overlay(Stands::Encode)),
    ] {
        ask(&mut window, Ask::Look(Stands::Encode));
        window.run_steps(2);
        press(&mut window, &format!("{title}: copy or save"));
        press(&mut window, "Save to typed path…");
        window.key_press(Key::Escape);
        window.run_steps(SETTLING);
        let path = folder.path().join(name);
        let ctx = window.ctx.clone();
        let purpose = BenchPurpose::Figure(figure, figures::Take::TypePath);
        window.state_mut().run(Command::Typed(Purpose::Bench(purpose), path.clone()), &ctx);
        let start = Instant::now();
        while !path.exists() {
            assert!(start.elapsed() < Duration::from_mins(1), "{name}: {:?}", window.state().message);
            std::thread::sleep(Duration::from_millis(5));
            window.step();
        }
    }
    let mut table = Vec::new();
    window.state().calibrating.figures().unwrap().quantiles.table().csv(&mut table).unwrap();
    assert_eq!(fs::read(folder.path().join("q.csv")).unwrap(), table);
    let svg = fs::read_to_string(folder.path().join("t.svg")).unwrap();
    assert!(svg.contains("measured_codec.csv") && svg.contains("framelap calibrate"), "it tells where it comes from");
    let ctx = window.ctx.clone();
    for (purpose, name) in [(BenchPurpose::SaveScenario, "fitted"), (BenchPurpose::SaveWork, "work")] {
        window.state_mut().run(Command::Typed(Purpose::Bench(purpose), folder.path().join(name)), &ctx);
        assert_eq!(window.state().message, None);
    }
    let scenario = crate::scenario::load(&folder.path().join("fitted.ron")).unwrap();
    assert_eq!(scenario.name, "measured_codec");
    assert!(folder.path().join("work/frames.csv").is_file());
}

#[test]
fn every_part_of_the_page_is_drawn_in_every_size_and_nothing_is_cut_off() {
    let ctx = Context::default();
    let mut app = App::still(&ctx, None, None);
    app.state.pair = short_pair();
    app.answer_now();
    app.run(Command::Bench(Ask::Show), &ctx);
    let mut painter = Painter::default();
    let mut look = |app: &mut App, name: &str, says: &str| {
        for (place, (size_name, size)) in SIZES.into_iter().enumerate() {
            for theme in THEMES {
                // All themes where there is most and where there is least room.
                if place > 1 && theme != ThemeChoice::Light {
                    continue;
                }
                theme.show(&ctx);
                let picture = picture::paint(&ctx, app, &mut painter, size, 1.0);
                keep(&format!("calibrate-{name}-{size_name}-{theme:?}"), &picture);
            }
            let seen = shown(&ctx, app, size);
            assert!(
                seen.iter().any(|text| text.contains(says)),
                "{name}, {size_name}: {says} is not in sight: {seen:?}"
            );
            if name == "compare" {
                for (text, rect, clip) in texts(&ctx, app, size) {
                    let scrolled = rect.bottom() > clip.bottom() || rect.top() < clip.top();
                    assert!(
                        scrolled || clip.expand(1.0).contains_rect(rect),
                        "{name}, {size_name}: {text:?} is cut off"
                    );
                }
            }
        }
    };
    look(&mut app, "intro", "Open measurements…");
    let mut kept = app.state.bench.clone();
    app.calibrating.open_now(&example(), &mut kept, &ctx).unwrap();
    app.state.bench = kept.clone();
    look(&mut app, "columns", "Stands for");
    let folder = tempfile::tempdir().unwrap();
    let broken = folder.path().join("broken.csv");
    let rows: Vec<String> = (0..40).map(|k| format!("{k},slow,{}\n", if k % 3 == 0 { "x" } else { "-1" })).collect();
    fs::write(&broken, format!("frame,mode,enc\n{}40,slow,5\n41,fast,6,7\n", rows.concat())).unwrap();
    app.calibrating.open_now(&broken, &mut kept, &ctx).unwrap();
    look(&mut app, "broken", "rows cannot be used and are left out");
    app.calibrating.open_now(&example(), &mut kept, &ctx).unwrap();
    let pair = app.state.pair.clone();
    let scenarios = [&pair.baseline.scenario, &pair.candidate.scenario];
    app.calibrating.fit_now(scenarios, &mut kept, &ctx).unwrap();
    look(&mut app, "fit", "Encode, 1500 frames");
    app.run(Command::Bench(Ask::Turn(Tab::Compare)), &ctx);
    for role in [Stands::Encode, Stands::Size] {
        app.run(Command::Bench(Ask::Look(role)), &ctx);
        look(&mut app, if role == Stands::Size { "compare-size" } else { "compare" }, "Largest disagreement");
    }
    app.run(Command::Bench(Ask::Turn(Tab::Scenario)), &ctx);
    look(&mut app, "scenario", "Take as candidate");
    // The figures on their own, as they leave.
    for figure in
        [MeasuredFigure::Overlay(Stands::Encode), MeasuredFigure::Quantiles, MeasuredFigure::Course(Stands::Encode)]
    {
        let exhibit = app.bench_exhibit(figure).unwrap();
        let slide = Slide { size: Slide::SIZE, scale: 1.0, theme: ThemeChoice::Light };
        keep(&format!("calibrate-slide-{}", figure.slug()), &exhibit.picture(&slide, "2024-02-29"));
    }
}
