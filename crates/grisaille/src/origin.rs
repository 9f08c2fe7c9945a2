//! Files of one scene that were each exported at the origin: they stand in each other, and only the
//! painter knows where they belong.

use grisaille_base::{Code, Finding, Place};
use grisaille_mesh::Bounds;

/// A box sits at the origin if its middle or its low corner lies within this share of its diagonal
/// of it, seen from above.
const NEAR: f64 = 0.05;
/// And stands in another if they share so much of the smaller one's room: an arm that is exported
/// where it belongs, or a base under its figure, seldom does both.
const DEEP: f64 = 0.5;

/// What is said where models that nobody has placed sit at the origin, each in another. Boxes are
/// the models' in the scene, with their names and whether the scheme moves or turns them.
pub(crate) fn at_origin(models: &[(Bounds, String, bool)]) -> Option<Finding> {
    let sits: Vec<&(Bounds, String, bool)> =
        models.iter().filter(|(bounds, _, placed)| !placed && sits(bounds)).collect();
    let found: Vec<&&(Bounds, String, bool)> = (0..sits.len())
        .filter(|&n| (0..sits.len()).any(|m| m != n && is_deep(&sits[n].0, &sits[m].0)))
        .map(|n| &sits[n])
        .collect();
    let (first, second) = (found.first()?, found.get(1)?);
    let [ahead, behind] = [first, second].map(|m| m.0.extents()[0]);
    let beside = (0.5 * (ahead + behind) + 0.1 * ahead.max(behind)).ceil();
    let names: Vec<String> = found.iter().map(|m| format!("'{}'", m.1)).collect();
    let hint = format!(
        "{} stand in each other, since each seems to be exported at the origin; nothing was moved: export them where \
         they belong, or give each [[model]] its place with at = [x, y, z] and turn = degrees (at = [{beside}, 0, 0] \
         sets '{}' beside '{}')",
        names.join(", "),
        second.1,
        first.1
    );
    let middle = first.0.centre().map(|x| x as f32);
    Some(Finding::new(Code::AtOrigin, found.len() as u64, hint).at(Place::Point(middle)))
}

fn sits(bounds: &Bounds) -> bool {
    let [x, y, _] = bounds.centre();
    let [low_x, low_y, _] = bounds.low.map(f64::from);
    x.hypot(y).min(low_x.hypot(low_y)) <= NEAR * bounds.diagonal()
}

/// Whether two boxes share much of the room of the smaller one.
fn is_deep(one: &Bounds, two: &Bounds) -> bool {
    let common: f64 = (0..3)
        .map(|i| f64::from((one.high[i].min(two.high[i]) - one.low[i].max(two.low[i])).max(0.0)))
        .product();
    let room = |b: &Bounds| b.extents().iter().product::<f64>();
    common > DEEP * room(one).min(room(two))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn model(low: [f32; 3], high: [f32; 3]) -> (Bounds, String, bool) {
        (Bounds { low, high }, format!("{}.stl", high[2]), false)
    }

    fn count(models: &[(Bounds, String, bool)]) -> u64 {
        at_origin(models).map_or(0, |f| f.count)
    }

    #[test]
    fn parts_that_stand_in_each_other_at_the_origin_are_told() {
        let torso = model([-8.0, -5.0, 0.0], [8.0, 5.0, 30.0]);
        let arm = model([-3.0, -2.0, 0.0], [3.0, 2.0, 14.0]);
        let shield = model([0.0, 0.0, 0.0], [9.0, 2.0, 9.0]);
        let told = at_origin(&[torso.clone(), arm.clone(), shield.clone()]).unwrap();
        assert_eq!((told.code, told.count), (Code::AtOrigin, 3));
        // Half of 16 and of 6, and a tenth of the wider, in whole mm.
        assert!(told.hint.contains("at = [13, 0, 0] sets '14.stl' beside '30.stl'"), "{}", told.hint);
        // Once the painter has placed one, two are left; with two placed nothing is said.
        let placed = |m: &(Bounds, String, bool)| (m.0, m.1.clone(), true);
        assert_eq!(count(&[torso.clone(), arm.clone(), placed(&shield)]), 2);
        assert_eq!(count(&[torso, placed(&arm), placed(&shield)]), 0);
    }

    #[test]
    fn parts_exported_where_they_belong_are_let_be() {
        let torso = model([-8.0, -5.0, 3.0], [8.0, 5.0, 30.0]);
        // A base under it, an arm at its side, a helmet on top, a second figure beside it.
        for other in [
            model([-12.5, -12.5, 0.0], [12.5, 12.5, 3.4]),
            model([5.0, -6.0, 12.0], [13.0, 2.0, 26.0]),
            model([-4.0, -4.0, 28.0], [4.0, 4.0, 37.0]),
            model([22.0, -5.0, 0.0], [38.0, 5.0, 30.0]),
        ] {
            assert_eq!(count(&[torso.clone(), other.clone()]), 0, "{other:?}");
        }
        assert_eq!(count(&[torso]), 0);
    }
}
