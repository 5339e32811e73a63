//! Pictures of every sample against those that were looked at and kept, by a difference that another graphics driver does not make.
//!
//! The kept ones stand in `tests/pictures`. `TUBEWRIGHT_UPDATE=1` draws them anew: look at each before it is kept. Where a picture differs the
//! new one is left in the folder of temporary files, and the message names it.

#![expect(clippy::unwrap_used, reason = "what fails here fails the test that calls it")]

mod common;

use std::path::{Path, PathBuf};

use common::{Shop, samples};
use image::{ImageBuffer, Rgb};
use nalgebra::Vector3;
use tubewright::units::Angle;
use tubewright_viewer::camera::Side;
use tubewright_viewer::needs;
use tubewright_viewer::picture::{self, Picture, Studio};
use tubewright_viewer::scene::bench::{Shown, bench};
use tubewright_viewer::scene::finished::finished;
use tubewright_viewer::scene::{Look, Scene};

/// Small, so that the kept ones are; what is looked at is where things are, not how sharp they are.
const SIZE: (u32, u32) = (384, 240);

/// Pixels of a picture that are looked at as one, each way: finer differences are the driver's.
const TILE: u32 = 6;

/// A tile differs where one of its colours is off by more than so much of 255.
const OFF: f64 = 24.0;

/// The share of tiles that may differ.
const SHARE: f64 = 0.004;

/// The share of tiles that differ.
fn difference(one: &Picture, other: &Picture) -> f64 {
    assert_eq!(one.dimensions(), other.dimensions());
    let tile = |picture: &Picture, column: u32, row: u32| {
        let mut sum = [0.0; 3];
        for y in row * TILE..(row + 1) * TILE {
            for x in column * TILE..(column + 1) * TILE {
                let Rgb(colour) = picture.get_pixel(x, y);
                (0..3).for_each(|part| sum[part] += f64::from(colour[part]));
            }
        }
        sum.map(|sum| sum / f64::from(TILE * TILE))
    };
    let (columns, rows) = (one.width() / TILE, one.height() / TILE);
    let differs = |place: u32| {
        let (column, row) = (place % columns, place / columns);
        let (one, other) = (tile(one, column, row), tile(other, column, row));
        one.iter().zip(other).any(|(one, other)| (one - other).abs() > OFF)
    };
    f64::from((0..columns * rows).filter(|place| differs(*place)).count() as u32) / f64::from(columns * rows)
}

fn kept(name: &str) -> PathBuf {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/pictures")).join(format!("{name}.png"))
}

/// Each picture of every sample: its name and its scene.
fn scenes() -> Vec<(String, Scene)> {
    let mut found = Vec::new();
    for sample in samples() {
        let work = Shop::new(&sample).work();
        let people = work.people();
        let (job, plan) = work.shown().unwrap();
        for tube in &plan.tubes {
            for (place, step) in tube.steps.iter().enumerate() {
                let shown = Shown { job, tube, step: place, people: &people };
                found.push((format!("{sample}-{}-step-{}", tube.name, place + 1), bench(&shown, step.die_angle * 0.5)));
            }
        }
        found.push((format!("{sample}-job"), finished(job, plan, usize::MAX)));
    }
    found
}

async fn studio() -> Studio {
    if let Err(missing) = needs::adapter().await {
        panic!("{missing}");
    }
    Studio::new(SIZE.0, SIZE.1).await
}

#[test]
fn pictures_of_all_samples_are_those_that_were_kept() {
    let update = std::env::var_os("TUBEWRIGHT_UPDATE").is_some();
    let scenes = scenes();
    assert!(scenes.len() > 30, "{}", scenes.len());
    let mut wrong = Vec::new();
    kiss3d::pollster::block_on(async {
        let mut studio = studio().await;
        for (name, scene) in &scenes {
            let drawn = studio.picture(scene, Side::Stand).await;
            let path = kept(name);
            if update {
                std::fs::create_dir_all(path.parent().unwrap()).unwrap();
                std::fs::write(&path, picture::png(&drawn).unwrap()).unwrap();
                continue;
            }
            let Ok(file) = std::fs::read(&path) else {
                wrong.push(format!("{name}: none is kept"));
                continue;
            };
            let share = difference(&image::load_from_memory(&file).unwrap().to_rgb8(), &drawn);
            if share > SHARE {
                let left = std::env::temp_dir().join(format!("{name}.png"));
                std::fs::write(&left, picture::png(&drawn).unwrap()).unwrap();
                wrong.push(format!("{name}: {:.2} % of it differs, see {}", 100.0 * share, left.display()));
            }
        }
    });
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // Nothing is kept that no sample draws.
    let names: Vec<String> = scenes.into_iter().map(|(name, _)| name).collect();
    for entry in std::fs::read_dir(kept("x").parent().unwrap()).unwrap() {
        let name = entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned();
        assert!(names.contains(&name), "{name} is kept, but drawn by no sample");
    }
}

#[test]
fn a_broken_picture_is_told_from_the_kept_one() {
    let work = Shop::new("hoop").work();
    let people = work.people();
    let (job, plan) = work.shown().unwrap();
    let tube = &plan.tubes[0];
    let shown = Shown { job, tube, step: 0, people: &people };
    let half = tube.steps[0].die_angle * 0.5;
    let good = bench(&shown, half);
    let moved = {
        let mut scene = good.clone();
        for body in scene.bodies.iter_mut().filter(|body| body.look == Look::Tube) {
            body.mesh.points.iter_mut().for_each(|point| *point += Vector3::new(0.0, 0.0, 40.0));
        }
        scene
    };
    let without = |look| {
        let mut scene = good.clone();
        scene.bodies.retain(|body| body.look != look);
        scene
    };
    let broken = [
        ("the tube 40 mm too high", moved),
        ("no solids", without(Look::Solid)),
        ("8 degrees further", bench(&shown, half + Angle::deg(8.0))),
        ("no labels", Scene { tags: Vec::new(), ..good.clone() }),
    ];
    kiss3d::pollster::block_on(async {
        let mut studio = studio().await;
        let picture = studio.picture(&good, Side::Stand).await;
        // The same again is the same, so that what differs below is not the studio's own doing.
        let again: ImageBuffer<Rgb<u8>, Vec<u8>> = studio.picture(&good, Side::Stand).await;
        assert!(difference(&picture, &again) == 0.0);
        for (what, scene) in broken {
            let share = difference(&picture, &studio.picture(&scene, Side::Stand).await);
            assert!(share > SHARE, "{what}: {:.2} % differs", 100.0 * share);
        }
    });
}
