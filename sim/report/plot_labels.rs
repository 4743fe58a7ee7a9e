//! Where names go in a plot: flags at instants, in rows so that none covers another; names of marks
//! where no curve runs. Lengths in canvas units, y downwards.

/// A point on the canvas.
pub(super) type Point = (i32, i32);

/// A rectangle on the canvas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Rect {
    pub left: i32,
    pub top: i32,
    pub right: i32,
    pub bottom: i32,
}

impl Rect {
    fn holds(&self, (x, y): Point) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    fn within(&self, outer: &Self) -> bool {
        outer.holds((self.left, self.top)) && outer.holds((self.right, self.bottom))
    }

    fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Nearest point of the rectangle.
    fn nearest(&self, (x, y): Point) -> Point {
        (x.clamp(self.left, self.right), y.clamp(self.top, self.bottom))
    }
}

/// The name of an instant, beside the top of its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Flag {
    /// Of the line.
    pub x: i32,
    /// Counted from the axes upwards.
    pub row: i32,
    /// The text ends at the line instead of beginning there.
    pub to_left: bool,
}

/// Places names of these widths at these x; a text that would cover another line stands above it.
pub(super) fn flags(wanted: &[(i32, i32)], right_end: i32) -> Vec<Flag> {
    let mut flags: Vec<Flag> = wanted.iter().map(|w| Flag { x: w.0, row: 0, to_left: false }).collect();
    // from right to left: a text without room on its right goes to the left, and so does one that would cover it
    let mut from_right: Vec<usize> = (0..wanted.len()).collect();
    from_right.sort_by_key(|&i| -wanted[i].0);
    let mut room = right_end;
    for i in from_right {
        let (x, width) = wanted[i];
        if x + width > room {
            flags[i].to_left = true;
            room = x;
        }
    }
    let span = |i: usize| {
        let (x, w) = wanted[i];
        if flags[i].to_left { (x - w, x) } else { (x, x + w) }
    };
    let spans: Vec<(i32, i32)> = (0..wanted.len()).map(span).collect();
    // each pass lifts at least one flag or is the last; there are never more rows than flags
    for _ in 0..wanted.len() {
        for a in 0..wanted.len() {
            for b in (0..wanted.len()).filter(|&b| b != a) {
                let apart = spans[a].1 <= spans[b].0 || spans[b].1 <= spans[a].0;
                let covers = |i: usize, x: i32| spans[i].0 < x && x < spans[i].1;
                let lift = if covers(a, flags[b].x) {
                    // each covers the line of the other: one crossing is unavoidable
                    flags[a].row <= flags[b].row && (a < b || !covers(b, flags[a].x))
                } else {
                    !apart && a < b && flags[a].row == flags[b].row
                };
                if lift {
                    flags[a].row = flags[b].row + 1;
                }
            }
        }
    }
    flags
}

/// Where the name of a mark stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Placed {
    /// Space that the name takes.
    pub space: Rect,
    /// Line from the mark to a name further away.
    pub leader: Option<(Point, Point)>,
}

/// Distance between the positions tried, and the furthest from the mark.
const STEP: i32 = 60;
const FURTHEST: i32 = 1200;
/// Free space between a mark and its name, and the distance from which a line connects them.
const CLEAR: i32 = 85;
const LEADER_FROM: i32 = 170;

/// Places the names of marks, with these widths and one height, inside `frame`: near the mark, over as few points
/// of `curves` as possible, preferably over straight `lines`, never over each other.
pub(super) fn names(
    marks: &[(Point, i32)],
    height: i32,
    curves: &[Vec<Point>],
    lines: &[Vec<Point>],
    frame: &Rect,
) -> Vec<Placed> {
    let mut busy: Vec<(Point, f64)> = curves.iter().flat_map(|c| dense(c)).map(|p| (p, 1.0)).collect();
    busy.extend(lines.iter().flat_map(|c| dense(c)).map(|p| (p, 0.1)));
    // no leader leads across the mark of another
    busy.extend(marks.iter().map(|m| (m.0, 12.0)));
    let mut taken: Vec<Placed> = Vec::new();
    for &(at, width) in marks {
        let free = |space: &Rect| {
            let leader = [at, space.nearest(at)];
            space.within(frame)
                && !taken.iter().any(|t| t.blocks(space) || dense(&leader).any(|p| t.space.holds(p)))
        };
        let best = around(at, width, height)
            .filter(free)
            .map(|space| (cost(&space, at, &busy), space))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, space)| space);
        let space = best.unwrap_or_else(|| beside(at, (0, -CLEAR - height / 2), width, height));
        let to = space.nearest(at);
        let leader = (apart(at, to) >= f64::from(LEADER_FROM)).then_some((at, to));
        taken.push(Placed { space, leader });
    }
    taken
}

impl Placed {
    fn blocks(&self, space: &Rect) -> bool {
        let crosses = |(a, b): (Point, Point)| dense(&[a, b]).any(|p| space.holds(p));
        self.space.overlaps(space) || self.leader.is_some_and(crosses)
    }
}

fn around(at: Point, width: i32, height: i32) -> impl Iterator<Item = Rect> {
    let (n, m) = ((FURTHEST + width / 2) / STEP, (FURTHEST + height / 2) / STEP);
    (-m..=m).flat_map(move |j| (-n..=n).map(move |i| beside(at, (i * STEP, j * STEP), width, height)))
}

fn beside((x, y): Point, (dx, dy): (i32, i32), w: i32, h: i32) -> Rect {
    let (cx, cy) = (x + dx, y + dy);
    Rect { left: cx - w / 2, top: cy - h / 2, right: cx + w / 2, bottom: cy + h / 2 }
}

/// Cost of a position: a covered curve costs most, then a leader across a curve, then distance.
fn cost(space: &Rect, at: Point, busy: &[(Point, f64)]) -> f64 {
    let to = space.nearest(at);
    let distance = apart(at, to);
    let too_near = if distance < f64::from(CLEAR) { 1e4 } else { 0.0 };
    // a name centred above or below its mark reads best
    let aside = 0.1 * f64::from(((space.left + space.right) / 2 - at.0).abs());
    let roomy = Rect {
        left: space.left - CURVE_ROOM,
        top: space.top - CURVE_ROOM,
        right: space.right + CURVE_ROOM,
        bottom: space.bottom + CURVE_ROOM,
    };
    let weight =
        |counts: &dyn Fn(Point) -> bool| -> f64 { busy.iter().filter(|b| counts(b.0)).map(|b| b.1).sum() };
    let covered = weight(&|p| roomy.holds(p));
    let crossed =
        weight(&|p| apart(at, p) > f64::from(CLEAR) && distance_to(p, at, to) < f64::from(CURVE_ROOM));
    1e3 * covered + 60.0 * crossed + too_near + distance + aside
}

/// Free space around a curve.
const CURVE_ROOM: i32 = 25;

fn apart(a: Point, b: Point) -> f64 {
    f64::from(a.0 - b.0).hypot(f64::from(a.1 - b.1))
}

/// Points of a polyline at most 20 units apart.
fn dense(points: &[Point]) -> impl Iterator<Item = Point> + '_ {
    points.windows(2).flat_map(|p| {
        let (a, b) = (p[0], p[1]);
        let n = 1 + ((b.0 - a.0).abs().max((b.1 - a.1).abs())) / 20;
        (0..=n).map(move |i| (a.0 + (b.0 - a.0) * i / n, a.1 + (b.1 - a.1) * i / n))
    })
}

/// Removes points of a polyline that lie within `off` of the line through the others.
pub(super) fn thinned(points: &[Point], off: f64) -> Vec<Point> {
    let mut keep = vec![false; points.len()];
    let mut open = vec![(0, points.len().saturating_sub(1))];
    while let Some((a, b)) = open.pop() {
        for end in [a, b] {
            if let Some(k) = keep.get_mut(end) {
                *k = true;
            }
        }
        let far = (a + 1..b)
            .map(|i| (distance_to(points[i], points[a], points[b]), i))
            .max_by(|p, q| p.0.total_cmp(&q.0));
        if let Some((d, i)) = far
            && d > off
        {
            open.extend([(a, i), (i, b)]);
        }
    }
    points.iter().zip(keep).filter(|(_, k)| *k).map(|(p, _)| *p).collect()
}

/// Distance of p from the segment a-b.
fn distance_to(p: Point, a: Point, b: Point) -> f64 {
    let of = |(x, y): Point| (f64::from(x), f64::from(y));
    let ((px, py), (ax, ay), (bx, by)) = (of(p), of(a), of(b));
    let (dx, dy) = (bx - ax, by - ay);
    let length2 = dx * dx + dy * dy;
    let along = if length2 > 0.0 { ((px - ax) * dx + (py - ay) * dy) / length2 } else { 0.0 };
    let s = along.clamp(0.0, 1.0);
    (px - ax - s * dx).hypot(py - ay - s * dy)
}
