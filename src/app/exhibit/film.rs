//! A walk as moving pictures: one frame's way in slow motion, held at its end on what the candidate gains.

mod animation;
mod shot;

use std::io::{self, Write};
use std::ops::RangeInclusive;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use super::{Exhibit, Kind};
use crate::app::given::Given;
use crate::app::state::ThemeChoice;
use crate::files;
use crate::report::figures::walk::Walk;
use crate::report::format::{count, number};
use crate::stop::{Stop, Stopped};
use crate::time::ns_to_ms;
use shot::Camera;

/// How long the end is held \[s\].
pub const HOLD_S: u32 = 2;
/// How long a walk takes where nothing else is asked for, its end not counted \[s\].
const USUAL_S: f64 = 10.0;
/// Most pictures of a walk, and most pixels of all of them.
const MOST_PICTURES: u32 = 6000;
const MOST_PIXELS: f64 = 1.3e10;
/// What a pixel takes, about: to paint and to pack, and in the file \[ns, byte\].
const PIXEL_NS: f64 = 60.0;
const PIXEL_BYTES: f64 = 0.05;

/// How a walk is shot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shooting {
    /// Width and height \[px\].
    pub size: [u32; 2],
    /// Light or dark.
    pub theme: ThemeChoice,
    /// Pictures a second.
    pub frames_per_second: u32,
    /// So many seconds are shown for a second of the pipeline; none: so many that it takes some ten seconds.
    pub slow_down: Option<f64>,
}

impl Shooting {
    /// Widths and heights that a picture may have \[px\].
    pub const SIDES: RangeInclusive<u32> = 200..=8000;
    /// Pictures a second that it may have.
    pub const RATES: RangeInclusive<u32> = 1..=120;
    /// How slow it may be.
    pub const SLOWNESS: RangeInclusive<f64> = 1.0..=1e6;
    /// What fills a usual projector.
    pub const SIZE: [u32; 2] = [1920, 1080];
    /// Smooth enough for lines that grow.
    pub const FRAMES_PER_SECOND: u32 = 25;
}

/// Of how many pictures a walk is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Those in which time goes on, the first at the pose, the last at the end.
    pub moving: u32,
    /// Those in which the end is held, one like the other.
    pub held: u32,
    /// Of the pipeline's time, between two pictures \[ms\].
    pub step_ms: f64,
    /// The end, since the pose \[ms\].
    pub end_ms: f64,
}

impl Cut {
    /// The instant of a moving picture since the pose \[ms\].
    fn at_ms(&self, picture: u32) -> f64 {
        (f64::from(picture) * self.step_ms).min(self.end_ms)
    }
}

/// How far the work has come, and whether it is to be given up; shared with whoever watches it.
#[derive(Debug, Default)]
pub struct Progress {
    /// Pictures that are done.
    pub done: AtomicU32,
    /// Pictures in all; 0 before that is known.
    pub of: AtomicU32,
    /// Set by who wants no more of it.
    pub stop: AtomicBool,
}

impl Progress {
    fn step(&self) -> io::Result<()> {
        self.done.fetch_add(1, Ordering::Relaxed);
        if Stop::when(&self.stop).asked() { Err(io::Error::other(Stopped)) } else { Ok(()) }
    }
}

/// A walk that can be shot.
pub struct Film {
    pub(super) exhibit: Exhibit,
    walk: Walk,
}

impl Film {
    /// The walk through the typical frame of two checked scenarios, in the lanes or the fronts; they are answered at once, on
    /// this thread.
    pub fn new(kind: Kind, baseline: Given, candidate: Given) -> Self {
        let mut exhibit = Exhibit::new(kind, baseline, candidate);
        exhibit.make_sure();
        Self::of(exhibit)
    }

    /// The walk through the frame that an exhibit shows.
    pub(in crate::app) fn of(exhibit: Exhibit) -> Self {
        let answers = exhibit.answers.each_ref().map(AsRef::as_ref);
        let walk = exhibit.views.lanes.walk(&exhibit.drawn.lanes, answers);
        Self { exhibit, walk }
    }

    /// Walks through another frame.
    ///
    /// # Errors
    /// The last frame that both runs have, where there is no such frame.
    pub fn look_at(mut self, frame: u32) -> Result<Self, usize> {
        self.exhibit.look_at(frame)?;
        Ok(Self::of(self.exhibit))
    }

    /// How slow it is where nothing else is asked for; none where there is no walk.
    pub(in crate::app) fn usual_slow_down(&self) -> Option<f64> {
        let end_ms = ns_to_ms(self.walk.end_ns());
        (end_ms > 0.0).then(|| 1e3 * USUAL_S / end_ms)
    }

    /// Of how many pictures it is made.
    ///
    /// # Errors
    /// In words, where that is more than is sensible, with what it would cost.
    pub fn cut(&self, shooting: &Shooting) -> Result<Cut, String> {
        let Shooting { size: [width, height], frames_per_second, slow_down, .. } = *shooting;
        let end_ms = ns_to_ms(self.walk.end_ns());
        if end_ms <= 0.0 {
            return Err("There is no walk: the frame was planned in neither run.".to_owned());
        }
        let slow_down = slow_down.unwrap_or(1e3 * USUAL_S / end_ms);
        let step_ms = 1e3 / (f64::from(frames_per_second) * slow_down);
        let moving = (end_ms / step_ms - 1e-9).ceil() + 1.0;
        let held = HOLD_S * frames_per_second;
        let pictures = moving + f64::from(held);
        let pixels = pictures * f64::from(width) * f64::from(height);
        if pictures > f64::from(MOST_PICTURES) || pixels > MOST_PIXELS {
            return Err(format!(
                "{} pictures of {width} x {height} pixels would take some {} minutes and {} MB, allowed: {} pictures, {} million \
                 pixels in all; fewer frames a second, less slow or smaller is less",
                count(pictures as u64),
                number((pixels * PIXEL_NS / 6e10).max(0.1), 1),
                count((pixels * PIXEL_BYTES / 1e6) as u64 + 1),
                count(u64::from(MOST_PICTURES)),
                count((MOST_PIXELS / 1e6) as u64)
            ));
        }
        Ok(Cut { moving: moving as u32, held, step_ms, end_ms })
    }

    /// Width and height that its pictures have at least at their height, where they are too narrow for the figure \[px\].
    pub fn least_size(&self, shooting: &Shooting) -> Option<[u32; 2]> {
        let width = Camera::new(self, shooting, "").least_width(self)?;
        Some([width, shooting.size[1]])
    }

    /// Writes it as one animated PNG; the command in it writes a file of the name `out`.
    ///
    /// # Errors
    /// Those of the system; [`Stopped`] where it was given up.
    pub fn animation(
        &self,
        shooting: &Shooting,
        cut: &Cut,
        (date, out): (&str, &str),
        progress: &Progress,
        to: impl Write,
    ) -> io::Result<()> {
        // The end is one picture that stays.
        progress.of.store(cut.moving + 1, Ordering::Relaxed);
        let mut camera = Camera::new(self, shooting, date);
        animation::write(self, &mut camera, shooting, cut, &self.texts(shooting, date, out), progress, to)
    }

    /// Writes it as pictures in a folder, `frame-0001.png` and on.
    ///
    /// # Errors
    /// Those of the system; [`Stopped`] where it was given up.
    pub fn pictures(
        &self,
        shooting: &Shooting,
        cut: &Cut,
        date: &str,
        progress: &Progress,
        folder: &Path,
    ) -> io::Result<()> {
        progress.of.store(cut.moving + cut.held, Ordering::Relaxed);
        let mut camera = Camera::new(self, shooting, date);
        for place in 0..cut.moving {
            let picture = camera.at(self, cut.at_ms(place));
            files::save(&folder.join(file_name(place)), |to| picture.write_png(to))?;
            progress.step()?;
        }
        let last = camera.held(self);
        for place in 0..cut.held {
            files::save(&folder.join(file_name(cut.moving + place)), |to| last.write_png(to))?;
            progress.step()?;
        }
        Ok(())
    }

    /// Title, description and program, as texts of a PNG.
    fn texts(&self, shooting: &Shooting, date: &str, out: &str) -> [(&'static str, String); 3] {
        let made = self.exhibit.provenance(date);
        let title = format!("Walk: {}", made.title());
        let description = format!("{}\nMade by: {}", made.run(), made.command_of("walk", out, &self.options(shooting)));
        [
            ("Title", title),
            ("Description", description),
            ("Software", format!("framelap {}", crate::version::version())),
        ]
    }

    /// What the command says beside the scenarios; what would be so without it is not said.
    fn options(&self, shooting: &Shooting) -> Vec<String> {
        let Shooting { size: [width, height], theme, frames_per_second, slow_down } = *shooting;
        let mut options = Vec::new();
        let mut option = |name: &str, value: String| options.extend([format!("--{name}"), value]);
        let figure = self.exhibit.figure.entry().slug;
        if figure != "lanes" {
            option("figure", figure.to_owned());
        }
        if let Some(frame) = self.exhibit.views.lanes.chosen() {
            option("frame", frame.to_string());
        }
        if frames_per_second != Shooting::FRAMES_PER_SECOND {
            option("frames-per-second", frames_per_second.to_string());
        }
        if let Some(slow_down) = slow_down {
            option("slow-down", slow_down.to_string());
        }
        if shooting.size != Shooting::SIZE {
            option("size", format!("{width}x{height}"));
        }
        if let Some(name) = theme.option() {
            option("theme", name.to_owned());
        }
        options
    }
}

/// Name of a picture's file.
fn file_name(place: u32) -> String {
    format!("frame-{:04}.png", place + 1)
}

/// Whether a folder holds pictures of a walk already.
pub fn holds_pictures(folder: &Path) -> bool {
    folder.join(file_name(0)).exists()
}
