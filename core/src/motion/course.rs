//! What a search over a motion has to know of it.

use glam::DVec3;

/// The way that every point of a part of the tube goes, as one obstacle sees it. How far along that way is one number: the die angle
/// of a bend, or what a screw counts by.
pub(crate) trait Course: Copy {
    /// Whether that number is the die angle of a bend, so that tube is drawn in and wrapped on the way.
    const BENDS: bool;
    /// Where everything is at one place of the way.
    type Pose: Copy;

    /// The pose at a place of the way.
    fn at(&self, way: f64) -> Self::Pose;

    /// Where a point goes that lies at p at die angle 0.
    fn point(pose: &Self::Pose, p: DVec3) -> DVec3;

    /// The speed, mm for one of the way, of a point that is at `now`.
    fn speed(&self, pose: &Self::Pose, now: DVec3) -> DVec3;

    /// Upper bound on the change of that speed within `half` of the way to either side.
    fn bend(&self, pose: &Self::Pose, now: DVec3, half: f64) -> f64;

    /// Upper bound, not below 0, on how much the speed against a direction grows for one of the way, within `half` of the way to either side: on
    /// -normal . X'', for a point that is at `now` in the middle.
    fn dive(&self, pose: &Self::Pose, now: DVec3, half: f64, normal: DVec3) -> f64;

    /// Whether nothing moves.
    fn is_still(&self) -> bool;

    /// The die angle that says which places of the tube are there and what must be kept.
    fn die_angle(&self, way: f64) -> f64;
}
