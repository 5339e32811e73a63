//! Sizes of tube, and which bars are of which size.

use core::cmp::Reverse;

use super::{SLACK, StockMistake, nanometres};
use crate::cutting::{Kind, Supply};
use crate::job::{Bar, Bars, Job, Size, Stock};
use crate::round::People;
use crate::units::Length;

/// The sizes of a job's tubes, each as its first tube has it, in the order of the file.
pub(super) fn sizes(job: &Job) -> Vec<&Stock> {
    let mut sizes: Vec<&Stock> = Vec::new();
    for tube in &job.tubes {
        if !sizes.iter().any(|size| same(size, &tube.stock)) {
            sizes.push(&tube.stock);
        }
    }
    sizes
}

/// Whether two tubes are of one size: OD, wall and material alike, but for what arithmetic leaves.
pub(super) fn same(one: &Stock, other: &Stock) -> bool {
    let size = |stock: &Stock| (nanometres(stock.od), stock.wall.map(nanometres));
    size(one) == size(other) && one.material == other.material
}

/// Whether stock that states this is of a size, as far as it states anything. What is stated and not known of the tube does not fit.
fn fits(size: &Size, stock: &Stock) -> bool {
    let alike = |stated: Option<Length>, is: Option<Length>| {
        stated.is_none_or(|stated| is.is_some_and(|is| nanometres(is) == nanometres(stated)))
    };
    alike(size.od, Some(stock.od))
        && alike(size.wall, stock.wall)
        && size.material.as_ref().is_none_or(|material| stock.material.as_ref() == Some(material))
}

/// What stock is taken for that lies there: what it states, and where there are several sizes what the job's `tube` says.
fn completed(size: &Size, usual: &Size) -> Size {
    Size {
        od: size.od.or(usual.od),
        wall: size.wall.or(usual.wall),
        material: size.material.clone().or_else(|| usual.material.clone()),
    }
}

/// Whether anything that lies there has to be taken for the size of the job's `tube`.
pub(super) fn assumed(bars: &Bars, sizes: &[&Stock]) -> bool {
    let lies_there = bars.bars.iter().filter(|bar| bar.count.is_some()).chain(&bars.offcuts);
    sizes.len() > 1 && lies_there.into_iter().any(|bar| completed(&bar.size, &bars.usual) != bar.size)
}

/// For each size the supplies that its tubes are cut from: offcuts, the shortest first, then bars at hand and bars to be bought, the longest first.
pub(super) fn supplies(bars: &Bars, sizes: &[&Stock], people: &People) -> Result<Vec<Vec<Supply>>, StockMistake> {
    let mut of_sizes: Vec<Vec<Supply>> = vec![Vec::new(); sizes.len()];
    let listed = bars.offcuts.iter().enumerate().map(|(place, bar)| (Kind::Offcut, "offcuts", place, bar));
    let whole = bars
        .bars
        .iter()
        .enumerate()
        .map(|(place, bar)| (if bar.count.is_some() { Kind::AtHand } else { Kind::Bought }, "bars", place, bar));
    for (kind, key, place, bar) in listed.chain(whole) {
        let size =
            if kind == Kind::Bought || sizes.len() == 1 { bar.size.clone() } else { completed(&bar.size, &bars.usual) };
        let could_be: Vec<usize> = (0..sizes.len()).filter(|place| fits(&size, sizes[*place])).collect();
        if kind != Kind::Bought && could_be.len() > 1 {
            let could_be: Vec<String> = could_be.iter().map(|place| sizes[*place].words(people)).collect();
            return Err(StockMistake::SizeUnsaid {
                entry: format!("entry {} of `{key}`, {},", place + 1, people.figure(bar.length)),
                could_be: could_be.join("; "),
            });
        }
        for place in could_be {
            add(&mut of_sizes[place], supply(kind, bar, bars.end_waste));
        }
    }
    for supplies in &mut of_sizes {
        supplies.sort_by_key(|supply| match supply.kind {
            Kind::Offcut => (supply.kind, supply.length, Reverse(0)),
            Kind::AtHand | Kind::Bought => (supply.kind, 0, Reverse(supply.length)),
        });
    }
    Ok(of_sizes)
}

fn supply(kind: Kind, bar: &Bar, end_waste: Length) -> Supply {
    let count = if kind == Kind::Bought { None } else { Some(bar.count.unwrap_or(1)) };
    Supply { kind, length: nanometres(bar.length), usable: nanometres(bar.length - end_waste * 2.0 + SLACK), count }
}

/// Adds a supply; what is alike is counted together.
fn add(supplies: &mut Vec<Supply>, new: Supply) {
    let alike = |supply: &&mut Supply| (supply.kind, supply.length) == (new.kind, new.length);
    match supplies.iter_mut().find(alike) {
        Some(held) => held.count = held.count.zip(new.count).map(|(held, new)| held.saturating_add(new)),
        None => supplies.push(new),
    }
}
