//! No two words on each other, whatever is asked.

use super::*;

const FRAME: Frame = Frame {
    x: 0.0,
    y: 0.0,
    width: 200.0,
    height: 150.0,
};

fn label(words: &str, x: f64, y: f64, weight: Weight) -> Label {
    let target = Point::new(x, y);
    let mut label = Label {
        lines: vec![words.to_owned()],
        size: 3.0,
        weight,
        bold: false,
        target,
        spots: Vec::new(),
        choice: 0,
    };
    label.spots = label.spots_around(target, 1.0);
    label
}

/// Points that crowd: a spiral, closer and closer to the middle.
fn crowd(n: usize) -> Vec<Label> {
    (0..n)
        .map(|i| {
            let angle = i as f64 * 2.4;
            let far = 60.0 * (1.0 - i as f64 / n as f64);
            let weight = if i % 3 == 0 {
                Weight::Size
            } else {
                Weight::Head
            };
            let at = Point::new(100.0, 75.0).off(angle, far);
            label(&format!("label {i}"), at.x, at.y, weight)
        })
        .collect()
}

#[test]
fn no_two_placed_labels_overlap() {
    let labels = crowd(160);
    let placed = place(&labels, &mut Placing::new(FRAME));
    let boxes: Vec<Plate> = labels
        .iter()
        .zip(&placed)
        .filter_map(|(label, place)| Some(label.as_placed(place.as_ref()?)))
        .collect();
    assert!(boxes.len() > 60, "only {} found room", boxes.len());
    for (i, a) in boxes.iter().enumerate() {
        for b in &boxes[i + 1..] {
            assert!(!a.overlaps(b), "{a:?} and {b:?}");
        }
    }
}

#[test]
fn no_label_lies_on_a_symbol_or_outside_the_frame() {
    let labels = crowd(80);
    let mut placing = Placing::new(FRAME);
    let symbols: Vec<Plate> = labels
        .iter()
        .map(|label| Plate::new(label.target, 1.0, 1.0, 0.0))
        .collect();
    for label in &labels {
        placing.keep_off(label.target, 1.0);
    }
    let placed = place(&labels, &mut placing);
    for (label, place) in labels.iter().zip(&placed) {
        let Some(place) = place else { continue };
        let text = label.as_placed(place);
        let (w, h) = text.reach();
        assert!(text.middle.x - w >= 0.0 && text.middle.x + w <= FRAME.width);
        assert!(text.middle.y - h >= 0.0 && text.middle.y + h <= FRAME.height);
        assert!(symbols.iter().all(|symbol| !symbol.overlaps(&text)));
    }
}

#[test]
fn an_important_label_without_room_beside_gets_a_leader() {
    let mut placing = Placing::new(FRAME);
    placing.add_solid(Plate::new(Point::new(100.0, 75.0), 14.0, 4.5, 0.0));
    let labels = [
        label("V1", 100.0, 75.0, Weight::Component),
        label("99.0", 100.0, 75.0, Weight::Spot),
    ];
    let mut wide = labels.clone();
    wide[0].target = Point::new(100.0, 79.9);
    let placed = place(&wide, &mut placing);
    let leader = placed[0].expect("it finds a place").leader;
    assert!(leader.is_some());
    assert!(placed[1].is_none(), "a spot elevation is left out");
}

#[test]
fn words_keep_off_heavy_lines_if_there_is_room() {
    let mut placing = Placing::new(FRAME);
    let at = Point::new(100.0, 75.0);
    placing.avoid_line(&[at, Point::new(150.0, 75.0)], 1.0);
    let placed = place(&[label("V1", at.x, at.y, Weight::Component)], &mut placing);
    let spot = placed[0].expect("it finds a place").spot;
    assert!(spot.middle.x < at.x, "it goes to the free side: {spot:?}");
}

#[test]
fn turned_boxes_overlap_where_they_touch_and_not_beyond() {
    let long = Plate::new(Point::new(0.0, 0.0), 10.0, 1.0, 45_f64.to_radians());
    let on_it = Plate::new(Point::new(5.0, 5.0), 1.0, 1.0, 0.0);
    let off_it = Plate::new(Point::new(5.0, -5.0), 1.0, 1.0, 0.0);
    assert!(long.overlaps(&on_it));
    assert!(!long.overlaps(&off_it));
}

#[test]
fn the_covered_part_of_a_line_is_measured() {
    let upright = Plate::new(Point::new(0.0, 0.0), 2.0, 1.0, 0.0);
    let through = upright.covers(Point::new(-5.0, 0.0), Point::new(5.0, 0.0));
    assert!((through - 4.0).abs() < 1e-9);
    assert!(upright.covers(Point::new(-5.0, 3.0), Point::new(5.0, 3.0)) < 1e-12);
}
