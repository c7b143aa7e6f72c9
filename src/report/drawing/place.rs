//! Where boxes and lines go: the layout crate places them, twice. The first
//! time tells on which side of a box each line leaves, so how tall the box must be.

use super::plain::Plain;
use super::relax::{Item, Link, relax};
use super::sizes::{FOOT, HEAD, PITCH};
use dagre::graph::{Graph, GraphOptions};
use dagre::{EdgeLabel, LayoutOptions, NodeLabel, RankDir, layout};

/// Room around the drawing.
const MARGIN: f64 = 12.0;
/// Room between boxes in one layer, beside what lines need.
const BOX_GAP: f64 = 26.0;
/// Room between two lines that pass a layer.
const LINE_GAP: f64 = 14.0;
/// Room for the bends between two layers, at least and at most.
const BEND: (f64, f64) = (60.0, 110.0);

/// Boxes and ways.
pub struct Placed {
    pub width: f64,
    pub height: f64,
    /// The boxes, in the order of the names.
    pub boxes: Vec<Box>,
    /// The ways, in the order of the lines.
    pub ways: Vec<Way>,
}

/// A box; all are of one width.
#[derive(Debug, Clone, Copy)]
pub struct Box {
    pub x: f64,
    pub y: f64,
    pub height: f64,
}

/// The way of a line.
#[derive(Debug, Clone)]
pub struct Way {
    pub from: Port,
    pub to: Port,
    /// The layers that the line passes, straight from left edge to right edge:
    /// both edges and the height.
    pub passes: Vec<Pass>,
}

/// Where a line meets a box.
#[derive(Debug, Clone, Copy)]
pub struct Port {
    pub x: f64,
    pub y: f64,
    pub to_right: bool,
}

/// Where a line passes a layer.
#[derive(Debug, Clone, Copy)]
pub struct Pass {
    pub left: f64,
    pub right: f64,
    pub y: f64,
}

type Layout = Graph<NodeLabel, EdgeLabel>;

/// Places everything.
pub fn place(plain: &Plain) -> Placed {
    let mut heights = vec![HEAD + FOOT + PITCH; plain.names.len()];
    let first = run(plain, &heights);
    let sides = sides(plain, &first);
    for (at, height) in heights.iter_mut().enumerate() {
        let count = |right| {
            sides
                .iter()
                .flatten()
                .filter(|s| **s == (at, right))
                .count()
        };
        let most = count(false).max(count(true)).max(1);
        *height = HEAD + FOOT + PITCH * most as f64;
    }
    let second = run(plain, &heights);
    let mut boxes = boxes(plain, &second, &heights);
    let mut ways = ways(plain, &second, &boxes, &sides);
    draw_together(plain, &mut boxes, &mut ways);
    let right = boxes.iter().map(|b| b.x + plain.width);
    let low = boxes.iter().map(|b| b.y + b.height);
    let passes = ways.iter().flat_map(|way| &way.passes).map(|pass| pass.y);
    let loops = plain.joins.iter().any(|[a, b]| a == b);
    let beside = if loops { 2.0 * plain.stub } else { 0.0 };
    Placed {
        width: right.fold(0.0, f64::max) + beside + MARGIN,
        height: low.chain(passes).fold(0.0, f64::max) + MARGIN,
        boxes,
        ways,
    }
}

fn run(plain: &Plain, heights: &[f64]) -> Layout {
    let mut graph = Layout::with_options(GraphOptions {
        directed: true,
        multigraph: true,
        compound: false,
    });
    for (at, height) in heights.iter().enumerate() {
        let node = NodeLabel {
            width: plain.width,
            height: *height,
            ..NodeLabel::default()
        };
        graph.set_node(at.to_string(), Some(node));
    }
    for (n, [from, to]) in plain.joins.iter().enumerate().filter(|(_, [a, b])| a != b) {
        let names = (from.to_string(), to.to_string(), n.to_string());
        graph.set_edge(names.0, names.1, Some(EdgeLabel::default()), Some(&names.2));
    }
    let busiest = heights.iter().copied().fold(0.0, f64::max);
    let bend = (busiest / 2.5).clamp(BEND.0, BEND.1);
    let options = LayoutOptions {
        rankdir: RankDir::LR,
        nodesep: BOX_GAP,
        edgesep: LINE_GAP,
        ranksep: 2.0 * plain.stub + bend,
        marginx: MARGIN,
        marginy: MARGIN,
        ..LayoutOptions::default()
    };
    layout(&mut graph, Some(options));
    graph
}

/// The middle of a box.
fn middle(layout: &Layout, at: usize) -> (f64, f64) {
    let node = layout.node(&at.to_string());
    let middle = node.and_then(|node| Some((node.x?, node.y?)));
    middle.unwrap_or_default()
}

/// The box and whether the line leaves it to the right, for both ends of each line.
fn sides(plain: &Plain, layout: &Layout) -> Vec<[(usize, bool); 2]> {
    let sides = plain.joins.iter().map(|&[from, to]| {
        let (a, b) = (middle(layout, from).0, middle(layout, to).0);
        // Both ends of a line from a box to itself are on its right.
        [(from, a <= b), (to, b <= a)]
    });
    sides.collect()
}

fn boxes(plain: &Plain, layout: &Layout, heights: &[f64]) -> Vec<Box> {
    let boxes = heights.iter().enumerate().map(|(at, &height)| {
        let (x, y) = middle(layout, at);
        Box {
            x: x - plain.width / 2.0,
            y: y - height / 2.0,
            height,
        }
    });
    boxes.collect()
}

/// The points between the boxes, in the order of the line.
fn between(plain: &Plain, layout: &Layout, n: usize) -> Vec<(f64, f64)> {
    let Some([from, to]) = plain.joins.get(n) else {
        return Vec::new();
    };
    let edge = layout.edge(&from.to_string(), &to.to_string(), Some(&n.to_string()));
    let points = edge.map(|edge| edge.points.as_slice()).unwrap_or_default();
    // The first and the last are on the boxes' edges.
    let inner = points
        .get(1..points.len().saturating_sub(1))
        .unwrap_or_default();
    inner.iter().map(|p| (p.x, p.y)).collect()
}

fn ways(plain: &Plain, layout: &Layout, boxes: &[Box], sides: &[[(usize, bool); 2]]) -> Vec<Way> {
    let inner: Vec<_> = (0..sides.len())
        .map(|n| between(plain, layout, n))
        .collect();
    let ports = ports(plain, boxes, sides, &inner);
    let ways = ports
        .into_iter()
        .zip(&inner)
        .map(|([from, to], points)| Way {
            from,
            to,
            passes: passes(plain, boxes, points),
        });
    ways.collect()
}

/// The points that stand in a layer of boxes, as a straight run past it.
fn passes(plain: &Plain, boxes: &[Box], points: &[(f64, f64)]) -> Vec<Pass> {
    let in_layer = |&(x, y): &(f64, f64)| {
        let layer = boxes.iter().find(|b| b.x <= x && x <= b.x + plain.width)?;
        Some(Pass {
            left: layer.x,
            right: layer.x + plain.width,
            y,
        })
    };
    points.iter().filter_map(in_layer).collect()
}

/// Where both ends of each line meet their boxes: on each side of a box one
/// below the other, in the order in which the lines arrive.
fn ports(
    plain: &Plain,
    boxes: &[Box],
    sides: &[[(usize, bool); 2]],
    inner: &[Vec<(f64, f64)>],
) -> Vec<[Port; 2]> {
    let none = Port {
        x: 0.0,
        y: 0.0,
        to_right: true,
    };
    let mut ports = vec![[none; 2]; sides.len()];
    for (at, place) in boxes.iter().enumerate() {
        for to_right in [false, true] {
            let mut here: Vec<(f64, usize, usize)> = Vec::new();
            for (n, (both, points)) in sides.iter().zip(inner).enumerate() {
                let near = [points.first(), points.last()];
                for (end, (side, near)) in both.iter().zip(near).enumerate() {
                    if *side == (at, to_right) {
                        // A line from a box to itself comes last.
                        here.push((near.map_or(f64::MAX, |p| p.1), n, end));
                    }
                }
            }
            here.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
            for (row, (_, n, end)) in here.into_iter().enumerate() {
                if let Some(port) = ports.get_mut(n).and_then(|both| both.get_mut(end)) {
                    *port = Port {
                        x: place.x + if to_right { plain.width } else { 0.0 },
                        y: place.y + HEAD + PITCH * (row as f64 + 0.5),
                        to_right,
                    };
                }
            }
        }
    }
    ports
}

/// Takes out the height that nothing needs.
fn draw_together(plain: &Plain, boxes: &mut [Box], ways: &mut [Way]) {
    let mut lefts: Vec<f64> = boxes.iter().map(|b| b.x).collect();
    lefts.sort_by(f64::total_cmp);
    lefts.dedup();
    let layer = |x: f64| lefts.iter().position(|left| *left == x).unwrap_or(0);
    let mut items: Vec<Item> = boxes
        .iter()
        .map(|b| Item {
            layer: layer(b.x),
            y: b.y + b.height / 2.0,
            room: b.height + BOX_GAP,
        })
        .collect();
    let mut links = Vec::new();
    for (way, [from, to]) in ways.iter().zip(&plain.joins) {
        let off = |port: Port, at: usize| port.y - items.get(at).map_or(0.0, |item| item.y);
        let (first, last) = (off(way.from, *from), off(way.to, *to));
        let mut near = (*from, first);
        for pass in &way.passes {
            items.push(Item {
                layer: layer(pass.left),
                y: pass.y,
                room: LINE_GAP,
            });
            let next = (items.len() - 1, 0.0);
            links.push(link(near, next));
            near = next;
        }
        links.push(link(near, (*to, last)));
    }
    let old: Vec<f64> = items.iter().map(|item| item.y).collect();
    relax(&mut items, &links);
    let moved = |at: usize| match (items.get(at), old.get(at)) {
        (Some(item), Some(old)) => item.y - old + MARGIN,
        _ => 0.0,
    };
    for (at, place) in boxes.iter_mut().enumerate() {
        place.y += moved(at);
    }
    let mut next = boxes.len();
    for (way, [from, to]) in ways.iter_mut().zip(&plain.joins) {
        way.from.y += moved(*from);
        way.to.y += moved(*to);
        for pass in &mut way.passes {
            pass.y += moved(next);
            next += 1;
        }
    }
}

fn link(a: (usize, f64), b: (usize, f64)) -> Link {
    Link {
        items: [a.0, b.0],
        offsets: [a.1, b.1],
    }
}
