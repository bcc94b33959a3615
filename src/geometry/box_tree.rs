//! A tree over boxes: what may lie near a point, nearest first.

use super::Bounds;
use crate::model::Point;

/// Items in a leaf, at most.
const LEAF: usize = 2;

/// Depth that a search keeps track of; a tree of `u32` items halved at each step has 32 at most, and one waits on each.
const DEEPEST: usize = 34;

/// Boxes halved along their longest side until two are left; the same boxes give the same tree.
#[derive(Clone, Default)]
pub(super) struct BoxTree {
    nodes: Vec<Node>,
    items: Vec<u32>,
}

#[derive(Clone)]
struct Node {
    bounds: Bounds,
    first: u32,
    /// Items of a leaf; 0 where it has two halves.
    count: u32,
    /// The second half; the first one follows its parent.
    second: u32,
}

impl BoxTree {
    /// A tree over `bounds`, whose indices are the items.
    pub(super) fn of(bounds: &[Bounds]) -> BoxTree {
        let items = (0..bounds.len() as u32).collect();
        let mut tree = BoxTree { nodes: Vec::with_capacity(bounds.len() * 2), items };
        if !bounds.is_empty() {
            tree.split(bounds, 0, bounds.len());
        }
        tree
    }

    fn split(&mut self, bounds: &[Bounds], from: usize, to: usize) -> usize {
        let mut around = bounds[self.items[from] as usize];
        for item in &self.items[from + 1..to] {
            around = around.with(&bounds[*item as usize]);
        }
        let index = self.nodes.len();
        let count = to - from;
        self.nodes.push(Node {
            bounds: around,
            first: from as u32,
            count: count as u32,
            second: 0,
        });
        if count > LEAF {
            let axis = (around.high - around.low).imax();
            let key = |item: &u32| bounds[*item as usize].centre()[axis];
            let half = count / 2;
            self.items[from..to]
                .select_nth_unstable_by(half, |a, b| key(a).total_cmp(&key(b)).then(a.cmp(b)));
            self.split(bounds, from, from + half);
            let second = self.split(bounds, from + half, to);
            self.nodes[index].count = 0;
            self.nodes[index].second = second as u32;
        }
        index
    }

    /// How far a point is from the box round everything, mm; infinite where there is nothing.
    pub(super) fn distance_mm(&self, point: &Point) -> f64 {
        self.nodes.first().map_or(f64::INFINITY, |root| root.bounds.distance_to_point_mm(point))
    }

    /// Offers the items whose boxes come within `reach_mm` of a point, near ones first. `offer` gives
    /// the new reach; below 0 all items whose boxes hold the point are still offered.
    pub(super) fn near(
        &self,
        point: &Point,
        reach_mm: f64,
        mut offer: impl FnMut(usize, f64) -> f64,
    ) {
        let Some(root) = self.nodes.first() else { return };
        let mut reach_mm = reach_mm;
        let mut waiting = [(0_u32, 0.0_f64); DEEPEST];
        waiting[0] = (0, root.bounds.distance_to_point_mm(point));
        let mut count = 1;
        while count > 0 {
            count -= 1;
            let (index, away_mm) = waiting[count];
            if away_mm > reach_mm.max(0.0) {
                continue;
            }
            let node = &self.nodes[index as usize];
            if node.count > 0 {
                for item in &self.items[node.first as usize..(node.first + node.count) as usize] {
                    reach_mm = offer(*item as usize, reach_mm);
                }
                continue;
            }
            let halves = [index + 1, node.second];
            let away_from =
                |half: u32| self.nodes[half as usize].bounds.distance_to_point_mm(point);
            let away = [away_from(halves[0]), away_from(halves[1])];
            let nearer = usize::from(away[1] < away[0]);
            for half in [1 - nearer, nearer] {
                if away[half] <= reach_mm.max(0.0) && count < DEEPEST {
                    waiting[count] = (halves[half], away[half]);
                    count += 1;
                }
            }
        }
    }
}
