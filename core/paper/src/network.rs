//! A survey, drawn: its points with what they may be off by, its tapes, and where it is weak.

use kurbo::{BezPath, Circle, Line, ParamCurveNearest, PathSeg, Point, Rect, Shape, Vec2};
use nalgebra::{Matrix2x3, Vector3};
use tubewright::round::People;
use tubewright::survey::{Record, Survey, What, Why};
use tubewright::units::Length;

use crate::draw::{DRAWN, Drawing, Ink, Label, Pen};

/// The sheet, mm.
const SHEET: (f64, f64) = (180.0, 160.0);

/// The field that the network is laid in, mm.
const FIELD: Rect = Rect::new(22.0, 30.0, 158.0, 148.0);

/// A tape of which less than this part of a mistake would show is a weak place (common practice, no source).
const WEAK: f64 = 0.1;

/// The largest ellipse is drawn about this long, mm.
const LARGEST: f64 = 9.0;

/// The half axis of a 95 % ellipse over the standard deviation: root of 5.9915, the 95 % point of chi-square with two degrees of freedom. What is drawn of a point in space is its
/// place on the sheet, which has two.
const OF_95: f64 = 2.4477;

/// Views that are tried, radians: so far from the left, and from above. A quarter is easiest to read.
const TURNS: [f64; 7] = [0.45, 0.4, 0.5, 0.35, 0.55, 0.3, 0.6];
const RISES: [f64; 3] = [0.38, 0.46, 0.3];

/// From the frame to the sheet: parallel, a flat network seen square on.
struct View {
    axes: Matrix2x3<f64>,
    scale: f64,
    middle: Vec2,
}

impl View {
    /// The view of several, all from the left and a little from above, in which no point comes as near to a line that goes past it.
    fn clearest(points: &[Vector3<f64>], lines: &[[Vector3<f64>; 2]], flat: bool) -> Self {
        if flat {
            return Self::new(points, 0.0, core::f64::consts::FRAC_PI_2);
        }
        let nearest = |view: &Self| {
            let lines = lines.iter().map(|[from, to]| Line::new(view.at(from), view.at(to)));
            let past = |line: Line| {
                let ends = |point: &Point| point.distance(line.p0) > 1e-9 && point.distance(line.p1) > 1e-9;
                let points = points.iter().map(|point| view.at(point)).filter(ends).collect::<Vec<_>>();
                points.into_iter().map(move |point| line.nearest(point, 1e-3).distance_sq)
            };
            lines.flat_map(past).fold(f64::INFINITY, f64::min)
        };
        let views = RISES.into_iter().flat_map(|rise| TURNS.map(|turn| Self::new(points, turn, rise)));
        let views = views.map(|view| (nearest(&view), view));
        let best = views.reduce(|best, other| if other.0 > best.0 + 1e-6 { other } else { best });
        best.expect("there are several").1
    }

    fn new(points: &[Vector3<f64>], turn: f64, rise: f64) -> Self {
        let (sin, cos) = libm::sincos(turn);
        let (low, high) = libm::sincos(rise);
        let axes = Matrix2x3::new(cos, sin, 0.0, -sin * low, cos * low, high);
        let flat_points: Vec<_> = points.iter().map(|point| axes * point).collect();
        let range = |axis: usize| {
            let values = flat_points.iter().map(|point| point[axis]);
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
        };
        let ((left, right), (bottom, top)) = (range(0), range(1));
        let wide = (right - left).max(1e-9);
        let tall = (top - bottom).max(1e-9);
        let scale = (FIELD.width() / wide).min(FIELD.height() / tall);
        Self { axes, scale, middle: Vec2::new(f64::midpoint(left, right), f64::midpoint(bottom, top)) }
    }

    fn at(&self, point: &Vector3<f64>) -> Point {
        let flat = self.axes * point;
        let centre = FIELD.center();
        Point::new(centre.x + (flat.x - self.middle.x) * self.scale, centre.y - (flat.y - self.middle.y) * self.scale)
    }
}

/// The network: a sheet of 180 by 160 mm.
///
/// Each told point is a dot in its 95 % ellipse, drawn so many times as large as it is. A tape is a line: thin where the others check it, in dashes where less than a tenth of a
/// mistake would show, bold and in colour where it was misread, in colour where it may be. The tape that would help most is dotted. A point that is not told has no place to be drawn at.
#[must_use]
pub fn network(record: &Record, told: &Survey, people: &People) -> Drawing {
    let title = "Survey: the network and its weak places";
    let mut sheet = Drawing::new(title, SHEET.0, SHEET.1);
    sheet.fill(Rect::new(0.0, 0.0, SHEET.0, SHEET.1).to_path(DRAWN), Ink::WHITE);
    sheet.text(Label::new((10.0, 9.0), title).size(4.0).bold());
    let places: Vec<Option<Vector3<f64>>> =
        told.points.iter().map(|found| found.point().map(|point| point.coords)).collect();
    let known: Vec<Vector3<f64>> = places.iter().flatten().copied().collect();
    let next = told.suggest.iter().find(|suggestion| suggestion.why != Why::Again);
    let joined = told.readings.iter().filter(|reading| matches!(reading.what, What::Distance | What::Drop));
    let joined = joined.filter_map(|reading| Some((reading.from, reading.to?)));
    let joined = joined.chain(next.map(|next| (next.from, next.to)));
    let lines: Vec<_> = joined.filter_map(|(from, to)| Some([places[from]?, places[to]?])).collect();
    let view = View::clearest(&known, &lines, record.is_flat());
    let at = |point: usize| places[point].as_ref().map(|place| view.at(place));

    let (ellipses, times) = ellipses(told, &places, &view);
    for ellipse in &ellipses {
        sheet.shape(ellipse.path.clone(), Ink::SWEEP, Pen::FINE);
    }
    // Without the misread one, if one is sure: what that alone checks is checked by nothing.
    for (place, reading) in told.without.iter().enumerate() {
        let (What::Distance | What::Drop, Some(to)) = (reading.what, reading.to) else { continue };
        let (Some(from), Some(to)) = (at(reading.from), at(to)) else { continue };
        let misread = told.misread.iter().find(|misread| misread.reading == place);
        let pen = match misread {
            Some(misread) if misread.sure => Pen::BOLD.ink(Ink::WARN),
            Some(_) if told.sure().is_none() => Pen::LINE.ink(Ink::WARN),
            _ if reading.redundancy < WEAK => Pen::NEXT,
            _ => Pen::FINE,
        };
        sheet.line(from, to, pen);
    }
    if let Some((from, to)) = next.and_then(|next| Some((at(next.from)?, at(next.to)?))) {
        sheet.line(from, to, Pen::LINE.dashed(0.4, 1.4).ink(Ink::WARN));
    }
    for point in (0..places.len()).filter_map(at) {
        sheet.fill(Circle::new(point, 0.8).to_path(DRAWN), Ink::BLACK);
    }
    legend(&mut sheet, record, told, people, (&ellipses, times));
    let tapes = lines.iter().map(|[from, to]| vec![Line::new(view.at(from), view.at(to))]);
    let outlines = ellipses.iter().map(|ellipse| sides(&ellipse.path));
    names(&mut sheet, record, &tapes.chain(outlines).collect::<Vec<_>>(), &at);
    sheet
}

/// The ellipse of a point.
struct Ellipse {
    point: usize,
    /// Its longer half axis as it is, not as it is drawn.
    reach: Length,
    path: BezPath,
}

/// The ellipses on the sheet, and how many times as large as they are.
fn ellipses(told: &Survey, places: &[Option<Vector3<f64>>], view: &View) -> (Vec<Ellipse>, f64) {
    let found = places.iter().enumerate().filter_map(|(point, place)| {
        let own = view.axes * told.covariance(point, point) * view.axes.transpose();
        let spread = own.symmetric_eigen();
        let axes = spread.eigenvalues.map(|value| OF_95 * value.max(0.0).sqrt());
        (axes.max() > 0.0).then_some((point, place.as_ref()?, axes, spread.eigenvectors))
    });
    let found: Vec<_> = found.collect();
    let largest = found.iter().map(|(_, _, axes, _)| axes.max() * view.scale).fold(0.0, f64::max);
    let times = round_number(LARGEST / largest.max(1e-12));
    let ellipse =
        |(point, place, axes, turned): (usize, &Vector3<f64>, nalgebra::Vector2<f64>, nalgebra::Matrix2<f64>)| {
            let centre = view.at(place);
            let mut path = BezPath::new();
            for step in 0..48 {
                let (sin, cos) = libm::sincos(f64::from(step) * core::f64::consts::PI / 24.0);
                let off = turned * nalgebra::Vector2::new(axes.x * cos, axes.y * sin) * (view.scale * times);
                let corner = Point::new(centre.x + off.x, centre.y - off.y);
                if step == 0 { path.move_to(corner) } else { path.line_to(corner) }
            }
            path.close_path();
            Ellipse { point, reach: Length::mm(axes.max()), path }
        };
    (found.into_iter().map(ellipse).collect(), times)
}

/// The sides of a path of straight lines.
fn sides(path: &BezPath) -> Vec<Line> {
    let side = |part| match part {
        PathSeg::Line(line) => Some(line),
        PathSeg::Quad(_) | PathSeg::Cubic(_) => None,
    };
    path.segments().filter_map(side).collect()
}

/// The largest of 1, 2, 5, 10, 20 and so on that is not above a figure; at least 1.
fn round_number(figure: f64) -> f64 {
    let mut number = 1.0;
    for step in [2.0, 2.5, 2.0].iter().cycle().take(30) {
        if number * step > figure {
            break;
        }
        number *= step;
    }
    number
}

/// The names beside their points, where they lie on no other and on as few tapes and ellipses as can be; what they lie on is wiped out behind them.
fn names(sheet: &mut Drawing, record: &Record, drawn: &[Vec<Line>], at: &dyn Fn(usize) -> Option<Point>) {
    const AROUND: [(f64, f64); 8] =
        [(1.0, -0.6), (1.0, 1.0), (-1.0, -0.6), (-1.0, 1.0), (0.3, -1.4), (0.3, 1.8), (-0.3, -1.4), (-0.3, 1.8)];
    // So far from the point, mm, and how many lines it is worth to stand nearer.
    const FAR: [(f64, usize); 4] = [(1.8, 0), (3.6, 2), (5.4, 4), (8.0, 8)];
    // All points come first: no name goes over another's point.
    let dots = (0..record.points.len()).filter_map(at).map(|point| Circle::new(point, 0.8).bounding_box());
    let mut taken: Vec<Rect> = sheet.labels().into_iter().map(|(_, bounds)| bounds).chain(dots).collect();
    for (point, name) in record.points.iter().enumerate() {
        let Some(place) = at(point) else { continue };
        let short: String = name.chars().take(24).collect();
        let label = |far: f64, (x, y): (f64, f64)| {
            let label = Label::new((place.x + far * x, place.y + far * y), short.clone()).size(2.6);
            if x < 0.0 { label.end() } else { label }
        };
        let all = FAR.into_iter().flat_map(|(far, worth)| AROUND.map(|side| (label(far, side), worth)));
        let free = |(label, _): &(Label, usize)| {
            let bounds = label.bounds().inflate(0.3, 0.3);
            let inside = bounds.x0 > 1.0 && bounds.x1 < SHEET.0 - 1.0 && bounds.y0 > 11.0 && bounds.y1 < SHEET.1 - 1.0;
            inside && taken.iter().all(|other| other.intersect(bounds).is_zero_area())
        };
        // Where there is no room the name is left out: the table has all of them.
        let crossed = |label: &Label| {
            let bounds = label.bounds().inflate(0.2, 0.1);
            drawn.iter().filter(|lines| lines.iter().any(|line| passes(line, bounds))).count()
        };
        let best = all.filter(free).min_by_key(|(label, worth)| crossed(label) + worth);
        let Some((found, _)) = best else { continue };
        taken.push(found.bounds());
        if crossed(&found) > 0 {
            sheet.fill(found.bounds().to_path(DRAWN), Ink::WHITE);
        }
        sheet.text(found);
    }
}

/// Whether a line goes through a rectangle, to a fifth of a millimetre.
fn passes(line: &Line, bounds: Rect) -> bool {
    let steps = (line.p0.distance(line.p1) / 0.2).ceil().max(1.0);
    (0..=steps as usize).any(|step| bounds.contains(line.p0.lerp(line.p1, step as f64 / steps)))
}

fn legend(sheet: &mut Drawing, record: &Record, told: &Survey, people: &People, (ellipses, times): (&[Ellipse], f64)) {
    let worst = ellipses.iter().reduce(|worst, one| if one.reach > worst.reach { one } else { worst });
    let mut lines = vec![format!("a point lies in its ellipse 95 times in 100; drawn {times:.0} times as large")];
    if let Some(worst) = worst {
        let name: String = record.points[worst.point].chars().take(24).collect();
        lines[0].push_str(&format!("; the largest, of {name}, reaches {} to either side", people.figure(worst.reach)));
    }
    lines.push("dashes: little or nothing checks this tape; bold in colour: misread; in colour: may be; dots: the tape that would help most".to_owned());
    if !told.undetermined.is_empty() {
        let few: Vec<&str> = told.undetermined.iter().take(4).map(|point| record.points[*point].as_str()).collect();
        let more = told.undetermined.len().saturating_sub(4);
        let more = if more == 0 { String::new() } else { format!(" and {more} more") };
        let names: String = few.join(", ").chars().take(80).collect();
        lines.push(format!("not told, and not drawn: {names}{more}"));
    }
    for (number, line) in lines.into_iter().enumerate() {
        sheet.text(Label::new((10.0, 14.5 + 4.0 * number as f64), line).size(2.5).ink(Ink::GREY));
    }
}
