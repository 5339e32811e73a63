//! Times of the window's pictures, off-screen at 1280 by 720: for a person to read.
//!
//! `cargo bench -p tubewright-viewer`. Each picture is read back, so that the graphics card has really drawn it: the window itself is spared that.

use std::cell::RefCell;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use divan::Bencher;
use kiss3d::pollster::block_on;
use kiss3d::window::{CanvasSetup, NumSamples, OffscreenSurface};
use tubewright::file::{Disk, load_job};
use tubewright::job::Job;
use tubewright::plan::{Options, Plan, plan};
use tubewright::round::People;
use tubewright_viewer::camera::{Side, fitted};
use tubewright_viewer::render::{self, BACKGROUND, Materials, Ready};
use tubewright_viewer::scene::Scene;
use tubewright_viewer::scene::bench::{Shown, bench};

thread_local! {
    /// One for all: the library's state is made with the first surface and goes with the last.
    static STUDIO: RefCell<Option<(OffscreenSurface, Materials)>> = const { RefCell::new(None) };
}

const WIDTH: u32 = 1280;
const HEIGHT: u32 = 720;

/// The job with the most bends of the samples.
fn rail() -> (Job, Plan, People) {
    let path = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../samples/jobs/rail.yaml"));
    let job = load_job(&Disk, path).unwrap_or_else(|mistakes| panic!("{mistakes}"));
    let people = People::usual(job.units);
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people };
    let plan = plan(&job, &options, &AtomicBool::new(false), &mut |_| {}).unwrap_or_else(|mistake| panic!("{mistake}"));
    (job, plan, people)
}

/// The third step of five, in the middle of its bend.
fn scene((job, plan, people): &(Job, Plan, People)) -> Scene {
    let tube = &plan.tubes[0];
    bench(&Shown { job, tube, step: 2, people }, tube.steps[2].die_angle * 0.5)
}

#[divan::bench]
fn scene_worked_out(bencher: Bencher<'_, '_>) {
    let rail = rail();
    bencher.bench_local(|| scene(&rail));
}

/// A picture of a scene that is on the card: the camera goes round it.
#[divan::bench(args = [1, 4])]
fn picture(bencher: Bencher<'_, '_>, samples: u32) {
    drawn(bencher, samples, false);
}

/// A picture while a motion is played: the scene is worked out and brought to the card each time.
#[divan::bench(args = [1, 4])]
fn picture_of_a_motion(bencher: Bencher<'_, '_>, samples: u32) {
    drawn(bencher, samples, true);
}

fn drawn(bencher: Bencher<'_, '_>, samples: u32, anew: bool) {
    let rail = rail();
    let (mut surface, materials) = STUDIO.take().unwrap_or_else(|| {
        let mut surface = block_on(OffscreenSurface::with_setup(WIDTH, HEIGHT, CanvasSetup::default()));
        surface.set_background_color(BACKGROUND);
        surface.set_shadows_enabled(false);
        (surface, Materials::new())
    });
    surface.set_samples(if samples == 1 { NumSamples::One } else { NumSamples::Four });
    let first = scene(&rail);
    let stand = fitted(&first, Side::Stand, f64::from(WIDTH) / f64::from(HEIGHT), 0.0);
    let camera = RefCell::new(render::camera(&first, &stand));
    let ready = RefCell::new(Ready::new(&first, &materials));
    bencher.bench_local(|| {
        let mut ready = ready.borrow_mut();
        if anew {
            *ready = Ready::new(&scene(&rail), &materials);
        }
        ready.queue(surface.window_mut());
        block_on(surface.render_3d(&mut ready.root, &mut *camera.borrow_mut()));
        surface.snap_image()
    });
    STUDIO.set(Some((surface, materials)));
}

fn main() {
    divan::main();
    // Let go before the graphics library's own state, which it needs.
    drop(STUDIO.take());
}
