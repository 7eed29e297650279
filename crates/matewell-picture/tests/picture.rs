//! What a picture must say and how it is drawn.

use matewell_picture::{Axis, Band, Curve, Mark, Picture};

fn picture() -> Picture {
    Picture {
        title: "A gap & its <bound>".to_owned(),
        description: "Both rise with frequency.".to_owned(),
        x: Axis { label: "frequency in GHz".to_owned() },
        y: Axis { label: "reflection magnitude".to_owned() },
        curves: vec![
            Curve { name: "predicted".to_owned(), points: vec![(0.0, 0.0), (10.0, 0.005)] },
            Curve { name: "upper bound".to_owned(), points: vec![(0.0, 0.0), (10.0, 0.01)] },
        ],
        bands: vec![Band { name: "above the rated frequency".to_owned(), from: 8.0, to: 10.0 }],
        marks: vec![Mark { name: "need".to_owned(), at: 0.004 }],
    }
}

/// The plot runs from x = 84 to 696 and from y = 344 up to 48; ticks are 0 to
/// 10 and 0 to 0.01, so half of the height is 196.
#[test]
fn points_land_where_the_axes_say() {
    let svg = picture().svg();
    assert!(svg.contains("d=\"M84.00 344.00L696.00 196.00\""), "{svg}");
    assert!(svg.contains("d=\"M84.00 344.00L696.00 48.00\""), "{svg}");
    // Ticks every 0.002: 344 − 0.6·296 = 166.4, text 4 lower.
    assert!(svg.contains("<text x=\"75.0\" y=\"170.4\" text-anchor=\"end\">0.006</text>"), "{svg}");
    // The mark at 0.004: 344 − 0.4·296 = 225.6.
    assert!(svg.contains("d=\"M84 225.6H696.0\""), "{svg}");
    // The band from 8 to 10: 84 + 0.8·612 = 573.6, 122.4 wide.
    assert!(svg.contains("<rect x=\"573.6\" y=\"48\" width=\"122.4\""), "{svg}");
}

#[test]
fn it_is_read_aloud_and_is_whole_xml() {
    let svg = picture().svg();
    assert!(svg.contains("role=\"img\" aria-labelledby=\"title desc\""));
    assert!(svg.contains("<title id=\"title\">A gap &amp; its &lt;bound&gt;</title>"));
    assert!(svg.contains("<desc id=\"desc\">Both rise with frequency.</desc>"));
    for tag in ["svg", "text", "title", "desc"] {
        let opened = svg.matches(&format!("<{tag} ")).count() + svg.matches(&format!("<{tag}>")).count();
        assert_eq!(opened, svg.matches(&format!("</{tag}>")).count(), "{tag}");
    }
}

#[test]
fn curves_differ_by_dash_and_name_not_only_by_colour() {
    let svg = picture().svg();
    assert!(svg.contains("stroke-dasharray=\"none\"") && svg.contains("stroke-dasharray=\"8 4\""));
    assert!(svg.contains(">predicted</text>") && svg.contains(">upper bound</text>"));
}

#[test]
fn what_is_not_a_number_is_not_drawn() {
    let mut picture = picture();
    picture.curves =
        vec![Curve { name: "broken".to_owned(), points: vec![(0.0, 0.0), (5.0, f64::NAN), (10.0, 0.01)] }];
    let svg = picture.svg();
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    assert!(svg.contains("d=\"M84.00 344.00M696.00 48.00\""), "{svg}");
    picture.curves.clear();
    picture.bands.clear();
    picture.marks.clear();
    assert!(!picture.svg().contains("NaN"));
}

#[test]
fn the_same_picture_gives_the_same_text() {
    assert_eq!(picture().svg(), picture().svg());
}
