//! The first page of a layout: which tiles there are, how they are put together, and what is on them.

use kurbo::{Affine, Point, Rect, Shape as _};
use tubewright::round::People;
use tubewright::units::Length;

use super::chalk::Drawn;
use super::pages::{MARGIN, furnished};
use super::tiles::{Grid, OVERLAP, Tile};
use crate::bars;
use crate::draw::{DRAWN, Drawing, Face, Ink, Item, Label, Pen, lines as broken};
use crate::pdf::Paper;

/// The page.
pub(super) fn overview(drawn: &Drawn<'_>, people: &People, paper: Paper, grid: &Grid, sheet: &Drawing) -> Drawing {
    let mut page = furnished(drawn, paper, "LAYOUT");
    let room = paper.width() - 2.0 * MARGIN;
    let mut y = MARGIN + 18.0;
    if !drawn.tube.feasible {
        for line in broken("This tube cannot be bent as asked. The layout is its shape only.", Face::Bold, 5.0, room) {
            page.text(Label::new((MARGIN, y), line).bold().size(5.0).ink(Ink::WARN));
            y += 6.5;
        }
    }
    let date = drawn.layout.date.clone().unwrap_or_else(|| "____________".to_owned());
    let facts = [
        format!("{}: {}. Date {date}.", drawn.tube.name, drawn.tube.verdict),
        format!("{}. {}", drawn.tube.stock, drawn.tube.says),
        tiles_in_words(grid),
    ];
    for fact in &facts {
        for line in broken(fact, Face::Book, 3.6, room) {
            page.text(Label::new((MARGIN, y), line).size(3.6));
            y += 4.8;
        }
    }
    y += 2.0;
    for (number, step) in how(people, grid).iter().enumerate() {
        page.text(Label::new((MARGIN, y), (number + 1).to_string()).bold().size(4.0));
        for line in broken(step, Face::Book, 3.6, room - 6.0) {
            page.text(Label::new((MARGIN + 6.0, y), line).size(3.6));
            y += 4.8;
        }
        y += 0.8;
    }
    let foot = paper.height() - MARGIN - bars::HEIGHT - 6.0;
    map(&mut page, grid, sheet, Rect::new(MARGIN, y + 1.0, paper.width() - MARGIN, foot));
    page
}

fn tiles_in_words(grid: &Grid) -> String {
    let all = (0..grid.rows).flat_map(|row| (0..grid.columns).map(move |column| Tile { row, column }));
    let empty: Vec<String> = all.filter(|tile| !grid.used.contains(tile)).map(Tile::name).collect();
    let count = grid.used.len();
    let tiles = if count == 1 { "1 tile".to_owned() } else { format!("{count} tiles") };
    match empty.len() {
        0 => format!("{tiles}."),
        1 => format!("{tiles}. {} is empty and left out.", empty[0]),
        // More names than these are no help.
        few if few <= 24 => format!("{tiles}. Empty and left out: {}.", empty.join(", ")),
        many => format!("{tiles}. {many} are empty and left out: grey below."),
    }
}

fn how(people: &People, grid: &Grid) -> Vec<String> {
    let mut steps =
        vec!["Print at 100 %, one side. Measure a bar on a tile: 100 mm or 4 in, else print again.".to_owned()];
    if grid.used.len() > 1 {
        steps.push(
            "Lay the tiles out as below. Where a tile has a dashed line along its left or upper edge, cut it there. Lay it on its \
             neighbour so that the halves of the crosses make whole crosses, and tape it."
                .to_owned(),
        );
        steps.push(far(people, grid));
    }
    steps.push(
        "The long dashes are the middle of the tube, the thick lines its edges. Fine lines across it: where a bend starts and ends. Lay the \
         bent tube on it: both edges should show evenly."
            .to_owned(),
    );
    steps
}

/// Two crosses as far from each other as there are, with their distance.
fn far(people: &People, grid: &Grid) -> String {
    let crosses: Vec<(Tile, Point)> =
        grid.used.iter().flat_map(|tile| grid.crosses(*tile).into_iter().map(|cross| (*tile, cross))).collect();
    let mut best = (0.0, 0, 0);
    for (i, (_, from)) in crosses.iter().enumerate() {
        for (k, (_, to)) in crosses.iter().enumerate().skip(i + 1) {
            let distance = (*to - *from).hypot();
            if distance > best.0 + 1e-9 {
                best = (distance, i, k);
            }
        }
    }
    let said = |(tile, at): (Tile, Point)| {
        let length = |mm: f64| people.length(Length::mm(mm - OVERLAP / 2.0));
        format!("x {} y {} on {}", length(at.x), length(at.y), tile.name())
    };
    format!(
        "Measure from cross to cross, {} to {}: {}.",
        said(crosses[best.1]),
        said(crosses[best.2]),
        people.length_with_unit(Length::mm(best.0))
    )
}

/// The sheet made small, with its tiles.
fn map(page: &mut Drawing, grid: &Grid, sheet: &Drawing, room: Rect) {
    page.text(Label::new((room.x0, room.y0 + 3.0), "The tiles, not to scale:").size(3.2).ink(Ink::GREY));
    let room = Rect::new(room.x0, room.y0 + 5.0, room.x1, room.y1);
    let scale = (room.width() / sheet.width).min(room.height() / sheet.height).min(0.5);
    let corner = Point::new(room.x0 + (room.width() - sheet.width * scale) / 2.0, room.y0);
    let by = Affine::translate(corner.to_vec2()) * Affine::scale(scale);
    let all = (0..grid.rows).flat_map(|row| (0..grid.columns).map(move |column| Tile { row, column }));
    let (used, empty): (Vec<Tile>, Vec<Tile>) = all.partition(|tile| grid.used.contains(tile));
    for tile in &empty {
        page.shape((by * grid.cell(*tile).to_path(DRAWN)).clone(), Ink(240, 240, 240), Pen::FINE.ink(Ink::PALE));
    }
    for item in &sheet.items {
        if let Item::Path { path, pen: Some(pen), .. } = item {
            let pen = Pen { width: (pen.width * 0.6).max(0.12), dash: None, ..*pen };
            page.stroke(by * path.clone(), pen);
        }
    }
    for tile in &used {
        let cell = grid.cell(*tile);
        page.stroke(by * cell.to_path(DRAWN), Pen::LINE.width(0.25));
        let size = (cell.height() * scale * 0.3).min(cell.width() * scale * 0.3).min(8.0);
        let at = by * Point::new(cell.x0 + cell.width() * 0.06, cell.y1 - cell.height() * 0.06);
        page.text(Label::new(at, tile.name()).bold().size(size));
    }
}
