//! Pictures and pages as they come: brought to scale, turned, refused.

#![allow(clippy::unwrap_used)] // helpers of tests fail where a test would

use image::{ImageFormat, Rgba, RgbaImage};
use proptest::prelude::*;
use std::io::Cursor;
use underlay::{Known, Options, Underlay, read};

fn known(pixel: [f64; 2], place: [f64; 2]) -> Known {
    Known { pixel, place }
}

fn options(first: Known, second: Known) -> Options {
    Options {
        page: 1,
        known: vec![first, second],
    }
}

/// One metre to ten pixels, not turned.
fn plain() -> Options {
    options(
        known([0.0, 100.0], [0.0, 0.0]),
        known([200.0, 100.0], [20.0, 0.0]),
    )
}

fn bytes(picture: &RgbaImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    match format {
        ImageFormat::Jpeg => {
            let rgb = image::DynamicImage::from(picture.clone()).into_rgb8();
            rgb.write_to(&mut bytes, format).unwrap();
        }
        _ => picture.write_to(&mut bytes, format).unwrap(),
    }
    bytes.into_inner()
}

/// White, with a red spot about a pixel.
fn spotted(width: u32, height: u32, [u, v]: [u32; 2]) -> RgbaImage {
    RgbaImage::from_fn(width, height, |x, y| {
        match x.abs_diff(u) < 4 && y.abs_diff(v) < 4 {
            true => Rgba([255, 0, 0, 255]),
            false => Rgba([255, 255, 255, 255]),
        }
    })
}

fn pixels(underlay: &Underlay) -> RgbaImage {
    image::load_from_memory(&underlay.png).unwrap().into_rgba8()
}

/// Where the middle of the red lies on the plane.
fn red(underlay: &Underlay) -> [f64; 2] {
    let picture = pixels(underlay);
    let (mut sum, mut weight) = ([0.0, 0.0], 0.0);
    for (x, y, pixel) in picture.enumerate_pixels() {
        let redness = f64::from(pixel[0]) - f64::from(pixel[1]);
        if redness > 20.0 && pixel[3] > 0 {
            sum[0] += redness * (f64::from(x) + 0.5);
            sum[1] += redness * (f64::from(y) + 0.5);
            weight += redness;
        }
    }
    let [min_x, min_y, max_x, max_y] = underlay.bounds;
    let across = (max_x - min_x) / f64::from(underlay.width);
    let down = (max_y - min_y) / f64::from(underlay.height);
    [
        min_x + sum[0] / weight * across,
        max_y - sum[1] / weight * down,
    ]
}

/// A page of 200 by 100 points with a red square, 10 points wide, about (50, 30) from its lower left.
fn pdf() -> Vec<u8> {
    let content = "1 0 0 rg 45 25 10 10 re f";
    let objects = [
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        "<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_owned(),
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 200 100] /Contents 4 0 R /Resources << >> >>"
            .to_owned(),
        format!(
            "<< /Length {} >>\nstream\n{content}\nendstream",
            content.len()
        ),
    ];
    let mut out = String::from("%PDF-1.4\n");
    let mut starts = Vec::new();
    for (n, object) in objects.iter().enumerate() {
        starts.push(out.len());
        out += &format!("{} 0 obj\n{object}\nendobj\n", n + 1);
    }
    let table = out.len();
    out += "xref\n0 5\n0000000000 65535 f \n";
    for start in starts {
        out += &format!("{start:010} 00000 n \n");
    }
    out += &format!("trailer\n<< /Size 5 /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n");
    out.into_bytes()
}

#[test]
fn a_picture_that_is_not_turned_keeps_its_pixels() {
    let picture = spotted(200, 100, [60, 30]);
    for format in [ImageFormat::Png, ImageFormat::Jpeg] {
        let laid = read(&bytes(&picture, format), &plain()).unwrap();
        assert_eq!((laid.width, laid.height), (200, 100));
        assert!(
            laid.bounds
                .iter()
                .zip([0.0, 0.0, 20.0, 10.0])
                .all(|(a, b)| (a - b).abs() < 1e-9)
        );
        let [x, y] = red(&laid);
        assert!(
            (x - 6.05).abs() < 0.05 && (y - 6.95).abs() < 0.05,
            "{x} {y}"
        );
        if format == ImageFormat::Png {
            assert_eq!(pixels(&laid), picture);
        }
    }
}

#[test]
fn a_page_of_a_pdf_is_drawn_where_it_belongs() {
    // One point is a quarter of a metre, the lower left corner at (100, 200).
    let laid = read(
        &pdf(),
        &options(
            known([0.0, 100.0], [100.0, 200.0]),
            known([200.0, 100.0], [150.0, 200.0]),
        ),
    )
    .unwrap();
    let [x, y] = red(&laid);
    assert!(
        (x - 112.5).abs() < 0.1 && (y - 207.5).abs() < 0.1,
        "{x} {y}"
    );
    assert!((laid.scale - 0.25).abs() < 1e-9);
    assert!(laid.notes.is_empty(), "{:?}", laid.notes);
    let none = Options { page: 2, ..plain() };
    assert_eq!(read(&pdf(), &none).unwrap_err()[0].rule, "no-such-page");
    let none = Options { page: 0, ..plain() };
    assert_eq!(read(&pdf(), &none).unwrap_err()[0].rule, "no-such-page");
}

#[test]
fn a_blank_page_is_told() {
    let blank = RgbaImage::from_pixel(50, 50, Rgba([255; 4]));
    let laid = read(&bytes(&blank, ImageFormat::Png), &plain()).unwrap();
    assert!(laid.notes[0].contains("blank"));
}

#[test]
fn what_is_no_picture_is_refused() {
    for other in [
        &b""[..],
        b"GIF89a",
        b"%PDF-1.7\nnothing",
        b"{}",
        b"\x89PNG\r\n\x1a\n",
        b"\xff\xd8\xff\xe0",
    ] {
        let refused = read(other, &plain()).unwrap_err();
        assert_eq!(refused[0].rule, "picture-unread", "{:?}", refused[0]);
    }
}

/// A PNG of a few bytes that says it is 60,000 by 60,000.
#[test]
fn a_picture_that_would_take_all_memory_is_refused() {
    let mut bomb = bytes(&spotted(8, 8, [0, 0]), ImageFormat::Png);
    bomb[16..24].copy_from_slice(&[0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60]);
    // The check sum of the header, so that it is believed.
    let sum = crc(&bomb[12..29]);
    bomb[29..33].copy_from_slice(&sum.to_be_bytes());
    assert_eq!(
        read(&bomb, &plain()).unwrap_err()[0].rule,
        "picture-too-large"
    );
    let page = String::from_utf8(pdf()).unwrap();
    let page = page.replace("/Length", "/Width 900000 /Height 900000 /Length");
    assert_eq!(
        read(page.as_bytes(), &plain()).unwrap_err()[0].rule,
        "picture-too-large"
    );
}

/// ISO 3309, as the PNG specification's annex D gives it.
fn crc(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for &byte in bytes {
        sum ^= u32::from(byte);
        for _ in 0..8 {
            sum = if sum & 1 == 1 {
                sum >> 1 ^ 0xedb8_8320
            } else {
                sum >> 1
            };
        }
    }
    !sum
}

#[test]
fn truncated_files_are_refused_or_drawn() {
    for whole in [
        bytes(&spotted(60, 40, [9, 9]), ImageFormat::Png),
        bytes(&spotted(60, 40, [9, 9]), ImageFormat::Jpeg),
        pdf(),
    ] {
        for part in 0..16 {
            let _ = read(&whole[..whole.len() * part / 16], &plain());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// However it is turned and scaled, a spot lies within a pixel of its place.
    #[test]
    fn a_spot_lies_at_its_place(u in 20_u32..180, v in 20_u32..80, angle in -3.1..3.1, scale in 0.01..2.0) {
        let at = |[u, v]: [f64; 2]| {
            let (sine, cosine) = f64::sin_cos(angle);
            [scale * (cosine * u + sine * v) + 7.0, scale * (sine * u - cosine * v) - 3.0]
        };
        let (first, second) = ([3.0, 5.0], [190.0, 95.0]);
        let laid = read(
            &bytes(&spotted(200, 100, [u, v]), ImageFormat::Png),
            &options(known(first, at(first)), known(second, at(second))),
        ).unwrap();
        let ([x, y], wanted) = (red(&laid), at([f64::from(u) + 0.5, f64::from(v) + 0.5]));
        let away = (x - wanted[0]).hypot(y - wanted[1]) / scale;
        prop_assert!(away < 1.0, "{away} pixels away");
        prop_assert!((laid.turned.to_radians() - angle).abs() < 1e-9);
    }
}
