use nalgebra::Point3;

use super::super::testing::{bender, blank, centreline, solid};
use super::*;
use crate::bender::{Bender, Hand, Shape};
use crate::centreline::BendId;
use crate::forming::{Blank, Law};
use crate::units::Angle;

/// One bend of 90 degrees with 500 ahead and 600 behind, CLR 100, tube of 40.
fn hook() -> Blank {
    blank(&[(500.0, 0.0, 90.0)], 600.0, 100.0, 40.0)
}

/// The same, sprung back by 5 degrees at every angle.
fn sprung_hook() -> Blank {
    let law = Law { constant: Angle::deg(5.0), ..Law::new(0, Length::mm(100.0), Length::ZERO, None) };
    let shape = centreline(&[(500.0, 0.0, 90.0)], 600.0, 100.0);
    Blank::new(&shape, Length::mm(40.0), Length::ZERO, Length::ZERO, &|_| law)
}

fn block(name: &str, min: [f64; 3], max: [f64; 3]) -> crate::bender::Solid {
    solid(name, Shape::Box { min: Point3::from(min), max: Point3::from(max) })
}

fn first<'a>(bender: &'a Bender, blank: &'a Blank) -> Step<'a> {
    Step { bender, blank, bend: BendId(0), lead: LeadEnd::A, made: &[false, false, false] }
}

fn entry(step: &Step<'_>, motion: Motion, obstacle: &str) -> Clearance {
    let all = Machine::new(step.bender).report_others(step, None);
    all.into_iter().find(|one| one.motion == motion && one.obstacle == obstacle).unwrap()
}

fn gap(clearance: &Clearance) -> f64 {
    clearance.nearest.unwrap().gap.to_mm()
}

fn out(step: &Step<'_>, bar: Bar) -> Ways {
    let machine = Machine::new(step.bender);
    machine.others_lead(step, bar).out & machine.others_trail(step, bar).out
}

#[test]
fn a_tube_lifted_under_a_plate_comes_as_near_as_the_tools_are_high() {
    let (mut bender, blank) = (bender(), hook());
    bender.motions.take_out = vec![TakeOut::Up];
    // The tools are 30 high and the tube's lower side lies at -20: it goes up by 50, its upper side to 70.
    for (height, verdict) in [(95.0, Verdict::Clear), (73.0, Verdict::Tight), (60.0, Verdict::Contact)] {
        bender.solids = vec![block("plate", [-400.0, -130.0, height], [-300.0, -70.0, height + 10.0])];
        let step = first(&bender, &blank);
        let found = entry(&step, Motion::TakeOut, "plate");
        assert_eq!((found.verdict, found.way), (verdict, Some(Way::Up)));
        assert!((gap(&found) - (height - 70.0).max(0.0)).abs() < 0.011, "{found:?}");
        assert_eq!(out(&step, Bar::Keep).is_empty(), verdict > Verdict::Clear);
        assert_eq!(out(&step, Bar::Touch).is_empty(), verdict == Verdict::Contact);
    }
}

/// Beside the wall it is at one distance all the way, so that half of the way is settled by one look: what comes before is still searched.
#[test]
fn the_first_touch_of_a_wall_that_is_passed_along_is_at_its_edge() {
    let (mut bender, blank) = (bender(), hook());
    bender.motions.take_out = vec![TakeOut::Up];
    bender.solids = vec![block("wall", [-400.0, -85.0, 22.0], [-300.0, -60.0, 500.0])];
    let step = first(&bender, &blank);
    let found = entry(&step, Motion::TakeOut, "wall");
    assert_eq!(found.verdict, Verdict::Contact);
    // 20 from the edge, 15 of it across.
    let height = 22.0 - (20.0_f64 * 20.0 - 15.0 * 15.0).sqrt();
    let seen = found.nearest.unwrap().point.z;
    assert!((seen - height).abs() < 1e-3, "{seen} {height}");
}

#[test]
fn a_part_that_has_left_the_tools_goes_on_with_the_part_that_has_not() {
    let (mut bender, blank) = (bender(), blank(&[(500.0, 0.0, 60.0), (300.0, 90.0, 90.0)], 300.0, 100.0, 40.0));
    bender.motions.take_out = vec![TakeOut::Up];
    // Bend 2 is made: end B hangs down or stands up behind; the plate is over the lead part alone.
    bender.solids = vec![block("plate", [150.0, 0.0, 90.0], [400.0, 500.0, 100.0])];
    let made = [false, true];
    let step = Step { bender: &bender, blank: &blank, bend: BendId(0), lead: LeadEnd::A, made: &made };
    let hangs = crate::motion::place(&step, blank.cut_length, Angle::ZERO).z < -300.0;
    assert!(hangs, "end B hangs down");
    let machine = Machine::new(&bender);
    assert!(machine.others_lead(&step, Bar::Keep).out.contains(Way::Up), "ahead the tube lies flat, 50 is enough");
    assert!(machine.others_trail(&step, Bar::Keep).out.contains(Way::Up), "nothing is over the part behind");
    assert!(out(&step, Bar::Keep).is_empty(), "but end B has to come up all the way");
    assert_eq!(entry(&step, Motion::TakeOut, "plate").verdict, Verdict::Contact);
}

#[test]
fn a_tube_moved_sideways_comes_as_near_a_wall_as_its_lead_end_is_long() {
    let mut bender = bender();
    let blank = hook();
    bender.motions.take_out = vec![TakeOut::Sideways];
    for hand in [Hand::Anticlockwise, Hand::Clockwise] {
        bender.hand = hand;
        // The lead end's upper side lies at y = 520, the tools end at -150: by 670, so that the tail comes from -120 to -790.
        let away = -hand.sign();
        let (near, far) = (810.0 * away, 900.0 * away);
        bender.solids = vec![block("wall", [-500.0, near.min(far), -100.0], [-400.0, near.max(far), 100.0])];
        let found = entry(&first(&bender, &blank), Motion::TakeOut, "wall");
        assert!((gap(&found) - 20.0).abs() < 0.011, "{found:?}");
        assert_eq!(found.verdict, Verdict::Clear);
    }
}

#[test]
fn where_the_die_stands_sideways_is_square_to_the_tail() {
    let (mut bender, blank) = (bender(), hook());
    bender.motion = BendMotion::DieStands;
    bender.motions.take_out = vec![TakeOut::Sideways];
    // After a quarter turn the tail lies at x = -100 and goes toward -x. Now the tools reach to x = -120 that way and the lead end lies at
    // x = 500: it goes by 640, to x = -740, less half an OD.
    bender.solids = vec![block("wall", [-900.0, 300.0, -100.0], [-780.0, 400.0, 100.0])];
    let found = entry(&first(&bender, &blank), Motion::TakeOut, "wall");
    assert!((gap(&found) - 20.0).abs() < 0.011, "{found:?}");
}

#[test]
fn a_leg_that_springs_back_comes_as_near_as_where_it_ends() {
    let (mut bender, blank) = (bender(), sprung_hook());
    bender.motions.recoil = true;
    // At 95 degrees the leg leans away; at 90 it stands at x = 100, 7 from the block less half an OD.
    bender.solids = vec![block("stop", [127.0, 100.0, -50.0], [200.0, 400.0, 50.0])];
    let step = first(&bender, &blank);
    let found = entry(&step, Motion::Recoil, "stop");
    assert!((gap(&found) - 7.0).abs() < 0.011, "{found:?}");
    assert_eq!(found.verdict, Verdict::Clear);
    let nearest = found.nearest.unwrap();
    assert!((nearest.point.x - 100.0).abs() < 0.02 && (nearest.die_angle.to_deg() - 95.0).abs() < 1e-9);
    bender.clearance.keep = Length::mm(7.1);
    let step = first(&bender, &blank);
    assert_eq!(entry(&step, Motion::Recoil, "stop").verdict, Verdict::Tight);
    let machine = Machine::new(&bender);
    assert!(!machine.others_lead(&step, Bar::Keep).recoil && machine.others_lead(&step, Bar::Touch).recoil);
    assert!(machine.others_trail(&step, Bar::Keep).recoil);
}

#[test]
fn the_lead_part_ends_its_recoil_where_the_arc_ends() {
    let mut bender = bender();
    let law = Law {
        constant: Angle::deg(3.0),
        proportional: 0.04,
        radius_growth: true,
        ..Law::new(0, Length::mm(100.0), Length::ZERO, None)
    };
    let shape = centreline(&[(500.0, 0.0, 70.0)], 600.0, 104.0);
    let blank = Blank::new(&shape, Length::mm(40.0), Length::ZERO, Length::ZERO, &|_| law);
    for hand in [Hand::Anticlockwise, Hand::Clockwise] {
        for motion in [BendMotion::DieTurns, BendMotion::DieStands] {
            (bender.hand, bender.motion) = (hand, motion);
            let step = first(&bender, &blank);
            let setting = Setting::new(&step);
            let poses = Poses::new(&step, setting);
            let recoil = poses.recoil(&step);
            let arc = Limb::relaxed(&setting, step.active(), 1000.0);
            let lead = Limb::new(&step, &setting, Side::Lead);
            let start = Screw::point(&recoil.at(1.0), lead.pieces[0].from);
            assert!((start - poses.arc.point(arc.pieces.last().unwrap().to)).length() < 1e-9);
            // The same pose, by the screw and by itself; and at its start the end of the bend.
            let end = lead.pieces[0].to;
            assert!((Screw::point(&recoil.at(1.0), end) - poses.lead.point(end)).length() < 1e-9);
            let before = crate::motion::place(&step, Length::ZERO, step.active().die_angle);
            let there = Screw::point(&recoil.at(0.0), end);
            assert!((Point3::new(there.x, there.y, there.z) - before).norm() < 1e-9);
            // Straight on from the arc: its direction there is that of the leg.
            let last = arc.pieces.last().unwrap();
            let ahead = poses.arc.direction(last.to - last.from).normalize();
            assert!((poses.lead.direction(DVec3::X) - ahead).length() < 1e-9);
        }
    }
}

#[test]
fn what_goes_back_with_the_die_passes_the_tail_as_low_as_it_is() {
    let (mut bender, blank) = (bender(), hook());
    bender.motions.back = true;
    // A ball 200 from the axis, on the far side at die angle 0: on its way back from 270 degrees it passes under the tail.
    let at = Point3::new(-200.0, 0.0, -70.0);
    let mut ball = solid("pin", Shape::Capsule { from: at, to: at, radius: Length::mm(10.0) });
    ball.on = Carrier::Die;
    bender.solids = vec![ball, block("post", [-190.0, -110.0, -90.0], [-180.0, -90.0, -60.0])];
    let step = first(&bender, &blank);
    let found = entry(&step, Motion::Return, "pin");
    assert!((gap(&found) - 40.0).abs() < 0.011, "{found:?}");
    // Its centre is at y = -100 when the die is back at 30 degrees.
    assert!((found.nearest.unwrap().die_angle.to_deg() - 30.0).abs() < 0.5);
    assert_eq!(entry(&step, Motion::Return, "post").nearest, None, "it does not move");
    bender.solids[0].shape = Shape::Capsule { from: at, to: at, radius: Length::mm(52.0) };
    let step = first(&bender, &blank);
    let found = entry(&step, Motion::Return, "pin");
    assert_eq!(found.verdict, Verdict::Contact);
    // It comes from above 30 degrees: the first touch is before, at a distance of 72 from the tail's axis, of which 70 are depth.
    let before = 30.0 + libm::asin((100.0 + (72.0_f64 * 72.0 - 70.0 * 70.0).sqrt()) / 200.0).to_degrees() - 30.0;
    let at = found.nearest.unwrap().die_angle.to_deg();
    assert!((at - before).abs() < 0.01, "{at} {before}");
    assert!(!Machine::new(&bender).others_trail(&step, Bar::Touch).back);
}

#[test]
fn an_arm_on_the_die_over_the_tube_comes_off_with_the_die() {
    let (mut bender, blank) = (bender(), hook());
    let mut arm = block("arm", [-60.0, -90.0, 40.0], [60.0, 90.0, 60.0]);
    arm.on = Carrier::Die;
    bender.solids = vec![arm];
    bender.motions.take_out = vec![TakeOut::Up, TakeOut::WithDie];
    let step = first(&bender, &blank);
    let open = out(&step, Bar::Keep);
    assert!(!open.contains(Way::Up) && open.contains(Way::WithDie));
    let found = entry(&step, Motion::TakeOut, "arm");
    assert_eq!((found.way, found.verdict, found.nearest), (Some(Way::WithDie), Verdict::Clear, None));
    let tried = Machine::new(&bender).tried(&step, Motion::TakeOut);
    assert_eq!(tried.iter().map(|one| one.verdict).collect::<Vec<_>>(), [Verdict::Contact, Verdict::Clear]);
}

#[test]
fn a_straight_tube_is_laid_in_along_itself_under_a_plate() {
    let (mut bender, blank) = (bender(), hook());
    bender.solids = vec![block("plate", [-400.0, -130.0, 60.0], [-300.0, 600.0, 70.0])];
    bender.motions.put_in = true;
    let step = first(&bender, &blank);
    let machine = Machine::new(&bender);
    let open = machine.others_lead(&step, Bar::Keep).put_in & machine.others_trail(&step, Bar::Keep).put_in;
    assert_eq!(
        [Way::Up, Way::Sideways, Way::AlongBack, Way::AlongAhead].map(|way| open.contains(way)),
        [false, true, true, true]
    );
    assert_eq!(entry(&step, Motion::PutIn, "plate").way, Some(Way::Sideways));
    bender.motions.take_out = vec![TakeOut::Up, TakeOut::Along];
    assert_eq!(entry(&first(&bender, &blank), Motion::PutIn, "plate").way, Some(Way::AlongBack));
}

#[test]
fn a_leg_that_is_turned_down_in_the_groove_comes_near_the_floor() {
    let mut bender = bender();
    bender.motions.turn = Some(TurnTube::Groove);
    // The leg reaches 600 from the tube's line, 620 with half an OD.
    bender.centre_height = Length::mm(640.0);
    for (rotation, wanted) in [(-90.0, Some(20.0)), (90.0, None), (-150.0, Some(20.0)), (150.0, None)] {
        let blank = blank(&[(500.0, 0.0, 90.0), (200.0, rotation, 45.0)], 400.0, 100.0, 40.0);
        let before = first(&bender, &blank);
        let made = [true, false];
        let next = Step { bend: BendId(1), made: &made, ..before };
        let machine = Machine::new(&bender);
        let all = machine.report_others(&next, Some(&before));
        let floor = all.iter().find(|one| one.obstacle == "floor").unwrap();
        assert_eq!(floor.motion, Motion::Turn);
        let seen = floor.nearest.map(|nearest| nearest.gap.to_mm());
        match wanted {
            Some(wanted) => assert!((seen.unwrap() - wanted).abs() < 0.011, "{rotation}: {floor:?}"),
            None => assert_eq!(seen, None, "{rotation}"),
        }
        assert_eq!(machine.turn_between(&before, &next, Bar::Keep), Decision::Clear);
    }
    bender.centre_height = Length::mm(600.0);
    let blank = blank(&[(500.0, 0.0, 90.0), (200.0, -90.0, 45.0)], 400.0, 100.0, 40.0);
    let before = first(&bender, &blank);
    let made = [true, false];
    let next = Step { bend: BendId(1), made: &made, ..before };
    let machine = Machine::new(&bender);
    assert_eq!(machine.turn_between(&before, &next, Bar::Touch), Decision::NotClear);
    let swapped = Step { lead: LeadEnd::B, ..next };
    assert_eq!(machine.turn_between(&before, &swapped, Bar::Keep), Decision::Clear, "lifted out for it");
}
