//! Rule 18: of two strides, the one that ends more bent.

use crate::study::rules::experiment::{Judged, Run, Seen, Stop, Try};
use crate::study::rules::measure::{Missing, Read, compare, landing};
use crate::study::rules::table::WALK;

/// Strides less far apart than this at heel contact end alike, °.
const APART_DEG: f64 = 1.0;

pub(in crate::study::rules) fn more_bent_stride_lands_worse(t: &Try) -> Judged {
    let runs = t.moved_pair(&t.base(WALK), "swing-extension")?.map(|r| Run { landing: true, ..r });
    let read = Read::BendsOn;
    let of = |run: &Run| {
        let motion = t.motion(run)?;
        let (_, landed_with) = landing(&motion).ok_or(Stop::Undecided("the foot would leave the ground"))?;
        Ok::<_, Stop>((landed_with, read.of(&motion)))
    };
    let (a, b) = (of(&runs[0])?, of(&runs[1])?);
    if (a.0 - b.0).abs() < APART_DEG {
        return Err(Stop::Undecided("less than 1° apart at heel contact"));
    }
    let bends = |on: Option<f64>| on.is_none_or(|deg| deg > read.noise());
    if !bends(a.1) && !bends(b.1) {
        return Err(Stop::Undecided("straightens from the start either way"));
    }
    let sign = (b.0 - a.0).signum();
    let seen = compare(read, Missing::Most, sign, [a.1, b.1], runs.to_vec())?;
    let said = format!(
        "bent {:.1} and {:.1}° at heel contact, then by {} and {} more",
        a.0,
        b.0,
        read.say(a.1),
        read.say(b.1)
    );
    Ok(Seen { said, ..seen })
}
