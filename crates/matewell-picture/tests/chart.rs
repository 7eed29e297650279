//! A chart of readings: where points land, and what it says without eyes.

use matewell_picture::{Axis, Band, Break, Chart, Draw, Mark, Series};

fn chart() -> Chart {
    Chart {
        title: "Zero of a <gauge>".to_owned(),
        description: "It moved once.".to_owned(),
        x: Axis { label: "check".to_owned() },
        names: Vec::new(),
        y: Axis { label: "zero in µm".to_owned() },
        series: vec![
            Series {
                name: "checks".to_owned(),
                points: vec![(0.0, 50.0), (10.0, 54.0)],
                draw: Draw::LineAndSigns,
            },
            Series {
                name: "other".to_owned(),
                points: vec![(5.0, f64::NAN), (5.0, 52.0)],
                draw: Draw::Signs,
            },
        ],
        bands: vec![Band { name: "second phase".to_owned(), from: 5.0, to: 10.0 }],
        marks: vec![Mark { name: "upper limit".to_owned(), at: 53.0 }],
        breaks: vec![Break { name: "cleaned".to_owned(), at: 5.0 }],
    }
}

/// The plot runs from x = 84 to 696 and from y = 344 up to 48; ticks 0 to 10
/// and 50 to 54: the vertical axis does not contain zero.
#[test]
fn points_land_where_the_axes_say() {
    let svg = chart().svg();
    assert!(svg.contains("d=\"M84.00 344.00L696.00 48.00\""), "{svg}");
    assert!(svg.contains("<circle cx=\"84.00\" cy=\"344.00\" r=\"4\""), "{svg}");
    // 53 is three quarters up: 344 − 0.75·296 = 122.
    assert!(svg.contains("d=\"M84 122.0H696.0\""), "{svg}");
    // The break at 5 is in the middle: 390.
    assert!(svg.contains("d=\"M390.0 48V344.0\""), "{svg}");
    assert!(svg.contains(">50</text>") && !svg.contains(">0.0</text>"), "{svg}");
}

#[test]
fn series_differ_by_shape_and_what_is_no_number_is_not_drawn() {
    let svg = chart().svg();
    assert!(svg.contains("h8v8h-8z"), "the second series has squares: {svg}");
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
    assert!(svg.contains("<title id=\"title\">Zero of a &lt;gauge&gt;</title>"));
    assert!(svg.contains("<desc id=\"desc\">It moved once.</desc>"));
    let empty =
        Chart { series: Vec::new(), bands: Vec::new(), marks: Vec::new(), breaks: Vec::new(), ..chart() };
    assert!(!empty.svg().contains("NaN"));
    let one = Chart {
        series: vec![Series { name: "one".to_owned(), points: vec![(3.0, 7.0)], draw: Draw::Signs }],
        ..empty
    };
    assert!(!one.svg().contains("NaN") && one.svg() == one.svg());
}

#[test]
fn parts_have_their_names_below() {
    let named = Chart {
        names: vec!["CB-001A".to_owned(), "CB-002A".to_owned()],
        bands: Vec::new(),
        breaks: Vec::new(),
        ..chart()
    };
    let svg = named.svg();
    // Ticks 0.5, 1, 2, 2.5: the first name is a quarter in.
    assert!(svg.contains("<text x=\"237.0\" y=\"364.0\" text-anchor=\"middle\">CB-001A</text>"), "{svg}");
}
