//! A document with every piece, every face and every mark.

use super::super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::super::piece::{
    Align, ContentsEntry, Document, Entry, Face, HeadlineFigure, Item, Mark, Member, PictureFormat, Piece,
    Rich, Row, Run, SignatureBox, Style, Table, Target, WorkedLine, Working,
};
use super::sample::{body, column, faced, heading, item, noted, of_items, picture, png, rich, row, table};

fn drawing() -> Drawing {
    let axis = vec![(30.0, 10.0), (30.0, 120.0), (320.0, 120.0)];
    let curve = (0..60)
        .map(|step| (30.0 + 4.8 * f64::from(step), 110.0 - 90.0 * (f64::from(step) / 20.0).sin().abs()));
    let text =
        |x, y, text: &str, size, anchor, ink| Stroke::Text { x, y, text: text.into(), size, anchor, ink };
    Drawing {
        width: 340.0,
        height: 140.0,
        alt: "voltage against time".into(),
        marks: vec![
            Stroke::Area {
                points: vec![(30.0, 30.0), (320.0, 30.0), (320.0, 10.0), (30.0, 10.0)],
                ink: Ink::Tint,
            },
            Stroke::Line { points: axis, weight: Weight::Thin, ink: Ink::Black, dashed: false },
            Stroke::Line {
                points: vec![(30.0, 30.0), (320.0, 30.0)],
                weight: Weight::Thin,
                ink: Ink::Fails,
                dashed: true,
            },
            Stroke::Line { points: curve.collect(), weight: Weight::Thick, ink: Ink::Accent, dashed: false },
            text(318.0, 27.0, "limit 403 V", TextSize::Small, Anchor::End, Ink::Fails),
            text(30.0, 131.0, "0", TextSize::Small, Anchor::Middle, Ink::Quiet),
            text(320.0, 131.0, "10 min", TextSize::Small, Anchor::End, Ink::Quiet),
            text(200.0, 70.0, "voltage at the inverter", TextSize::Label, Anchor::Middle, Ink::Accent),
        ],
    }
}

const STORY: &str = "The motor sits where the gearbox was, on a plate of 12 mm steel that takes the old mounts. It was \
    lowered in from above with the bonnet off, and the shaft was measured before and after: the runout was \
    0.04\u{a0}mm at the flange. At 130\u{a0}km/h it turns at 12\u{a0}133\u{a0}rpm, which is why the final drive was changed.";

pub(crate) fn everything() -> Document {
    let mut items = vec![
        heading(1, "Market van, petrol to electric", "title"),
        item(Piece::Paragraph {
            style: Style::Lead,
            text: rich(
                "A 1.6 panel van of 1991, converted at home between March and November. One requirement fails and two are open.",
            ),
        }),
        item(Piece::Contents {
            entries: vec![
                ContentsEntry {
                    level: 2,
                    text: rich("Drive"),
                    id: "drive".into(),
                    remark: Rich(vec![Run::Verdict { verdict: Mark::Fails }]),
                },
                ContentsEntry {
                    level: 3,
                    text: rich("From road speed back to the motor"),
                    id: "ratio".into(),
                    remark: rich("3 meet, 1 fails"),
                },
                ContentsEntry {
                    level: 2,
                    text: rich(
                        "Battery and high voltage, with everything that an inspector asks for at the first visit and again at the second",
                    ),
                    id: "battery".into(),
                    remark: Rich::default(),
                },
                ContentsEntry {
                    level: 3,
                    text: rich("A place that is nowhere"),
                    id: "nowhere".into(),
                    remark: Rich::default(),
                },
            ],
        }),
        item(Piece::Caution {
            high_voltage: true,
            title: "High voltage: 403 V".into(),
            lines: vec![
                rich("Two people, gloves of class 0, the service plug in the pocket of the one who works."),
                rich("Wait ten minutes, then measure."),
            ],
        }),
        item(Piece::Caution {
            high_voltage: false,
            title: "Not yet weighed".into(),
            lines: vec![rich("Axle loads below come from the parts.")],
        }),
        item(Piece::Signatures {
            boxes: vec![
                SignatureBox {
                    title: "Builder".into(),
                    lines: vec!["name".into(), "date and signature".into()],
                },
                SignatureBox {
                    title: "Inspector".into(),
                    lines: vec!["name".into(), "date and signature".into()],
                },
                SignatureBox { title: "Witness of the isolation test".into(), lines: vec!["name".into()] },
            ],
        }),
        heading(2, "Drive", "drive"),
        noted(body(STORY), &["2026-03-02", "photo 14, bench notes p. 3"]),
        noted(body("A short line."), &["2026-03-04"]),
        noted(
            body("Another one with a longer note beside it than it is itself."),
            &[
                "2026-03-05, continued on the 6th and again after the bearing came, see the delivery note of the supplier",
                "WB-2",
            ],
        ),
        heading(3, "From road speed back to the motor", "ratio"),
        Item {
            id: Some("block-drive".into()),
            log: vec![rich("worked 2026-03-02")],
            piece: Piece::Opening {
                kind: "drive · ratio-chain".into(),
                name: "drive".into(),
                words: Rich::default(),
                sentence: Rich(vec![
                    faced("Motor speed 12\u{a0}133\u{a0}rpm", Face::Strong),
                    faced(" at 130\u{a0}km/h, 1.1\u{a0}% over its limit.", Face::Plain),
                ]),
            },
        },
        item(Piece::Headline {
            figures: vec![
                HeadlineFigure {
                    label: "motor speed".into(),
                    value: "12\u{a0}133\u{a0}rpm".into(),
                    target: Some(Target::Inner { id: "drive.motor_speed".into() }),
                },
                HeadlineFigure {
                    label: "geared top speed".into(),
                    value: "128.6\u{a0}km/h".into(),
                    target: None,
                },
            ],
        }),
    ];
    let given = Table {
        columns: vec![
            column("Given", Align::Left, 0),
            column("Value", Align::Decimal, 0),
            column("Remark", Align::Left, 1),
        ],
        rows: vec![
            Row { log: vec![rich("measured, WB-2")], ..row(&["wanted speed", "130\u{a0}km/h", ""]) },
            Row {
                log: vec![rich("datasheet, sheet 4 of the supplier's folder, page 12, second table")],
                ..row(&["motor max speed", "12\u{a0}000\u{a0}rpm", "at 20\u{a0}°C"])
            },
            Row {
                log: vec![rich("assumed"), Rich(vec![Run::Verdict { verdict: Mark::Open }])],
                ..row(&[
                    "rolling factor",
                    "1",
                    "a tyre under load rolls about 3\u{a0}% less, so the motor turns faster",
                ])
            },
            Row { strong: true, ..row(&["overall ratio", "11.19 ± 0.06", ""]) },
        ],
        caption: Some(rich("What the chain starts from")),
    };
    items.push(item(Piece::Table(given)));
    let verdict = |verdict, margin: &str, share| {
        Rich(vec![
            Run::Verdict { verdict },
            faced("  ", Face::Plain),
            faced(margin, Face::Quiet),
            Run::Margin { share },
        ])
    };
    let requirements = Table {
        columns: vec![
            column("Requirement", Align::Left, 0),
            column("Actual", Align::Decimal, 0),
            column("Limit", Align::Right, 0),
            column("Verdict and margin", Align::Left, 0),
        ],
        rows: [
            (
                "motor speed",
                "12\u{a0}133\u{a0}rpm",
                "at most 12\u{a0}000\u{a0}rpm",
                Mark::Fails,
                "−1.1 %",
                -0.11,
            ),
            (
                "gearbox input",
                "4\u{a0}120.5\u{a0}rpm",
                "at most 6\u{a0}500\u{a0}rpm",
                Mark::Meets,
                "+36.6 %",
                0.366,
            ),
            (
                "final drive torque",
                "1\u{a0}870\u{a0}N\u{a0}m",
                "at most 1\u{a0}900\u{a0}N\u{a0}m",
                Mark::Close,
                "+1.6 %",
                0.016,
            ),
            ("isolation", "—", "at least 500\u{a0}Ω/V", Mark::Open, "", 0.0),
        ]
        .into_iter()
        .enumerate()
        .map(|(index, (name, actual, limit, mark, margin, share))| Row {
            id: (index == 0).then(|| "drive.motor_speed".into()),
            cells: vec![rich(name), rich(actual), rich(limit), verdict(mark, margin, share)],
            log: vec![rich("UN R100, 5.1.1"), rich("limit read in the document")],
            strong: false,
        })
        .collect(),
        caption: None,
    };
    items.push(item(Piece::Table(requirements)));
    items.push(item(Piece::Figure {
        drawing: drawing(),
        caption: rich("Voltage at the inverter through the worst ten minutes, with its limit."),
    }));
    let columns = vec![
        column("Result", Align::Left, 5),
        column("Value", Align::Decimal, 4),
        column("± (k = 2)", Align::Decimal, 3),
    ];
    let mut rows = vec![
        row(&["wheel speed", "1\u{a0}084.3\u{a0}rpm", "±\u{a0}11\u{a0}rpm"]),
        row(&["motor speed", "12\u{a0}133\u{a0}rpm", "±\u{a0}62\u{a0}rpm"]),
        row(&["voltage class", "high voltage"]),
    ];
    rows[0].id = Some("wheel_speed".into());
    rows[0].log = vec![rich("rests on estimated; moved by rolling_factor 91 %, tyre 9 %")];
    let working = |from: &str, result: &str| Working { from: rich(from), result: rich(result) };
    items.push(item(Piece::Results {
        summary: "Working".into(),
        table: Table { columns, rows, caption: None },
        workings: vec![
            working(
                "wanted speed / rolling circumference = 36.11 m/s / 2.001 m",
                "1\u{a0}084.3 ± 11\u{a0}rpm",
            ),
            working(&"1\u{a0}084.3 rpm × 11.19 + ".repeat(12), "12\u{a0}133 ± 62\u{a0}rpm"),
            Working::default(),
        ],
        members: vec![Member {
            id: Some("first_gear".into()),
            label: rich("speed in first gear"),
            working: working("motor speed / 3.5", "3\u{a0}467 ± 18\u{a0}rpm"),
            log: vec![rich("moved by rolling_factor 91 %")],
        }],
        lines: vec![WorkedLine {
            ids: vec!["first_gear".into()],
            text: rich("speed in first gear = motor speed / 3.5 = 3\u{a0}467 ± 18\u{a0}rpm"),
        }],
    }));
    let rows =
        ["a", "b", "c", "d", "e"].map(|name| Row { log: vec![rich("measured")], ..row(&[name, "1.5 kg"]) });
    items.push(item(Piece::Values(Table {
        columns: vec![column("Given", Align::Left, 5), column("Value", Align::Decimal, 5)],
        rows: rows.to_vec(),
        caption: None,
    })));
    items
        .push(item(Piece::CautionNote { high_voltage: true, text: rich("High voltage: see the cautions.") }));
    items.push(heading(4, "Faces and lists", "faces"));
    items.push(item(Piece::Paragraph {
        style: Style::Body,
        text: Rich(vec![
            faced("Plain, ", Face::Plain),
            faced("strong, ", Face::Strong),
            faced("emphasis, ", Face::Emphasis),
            faced("both, ", Face::StrongEmphasis),
            faced("voltwright work", Face::Code),
            faced(", ", Face::Plain),
            faced("struck out", Face::Strike),
            faced(", H", Face::Plain),
            faced("2", Face::Sub),
            faced("O, m", Face::Plain),
            faced("2", Face::Sup),
            faced(" and ", Face::Plain),
            faced("quiet. ", Face::Quiet),
            Run::Link { text: rich("A link to the battery"), target: Target::Inner { id: "battery".into() } },
            faced(" and ", Face::Plain),
            Run::Link {
                text: rich("one outwards"),
                target: Target::Outer { address: "https://example.org/a b?q=µ".into() },
            },
            faced(", one to ", Face::Plain),
            Run::Link { text: rich("nowhere"), target: Target::Inner { id: "nowhere".into() } },
            faced(". Greek Ω µ μ Δ, arrows →, signs ≤ ≥ ± × · √, boxes ☐ ☑, and a new line:", Face::Plain),
            Run::Break,
            faced("after the break, ", Face::Plain),
            Run::Verdict { verdict: Mark::Meets },
            faced(" / ", Face::Plain),
            Run::Verdict { verdict: Mark::Close },
            faced(" / ", Face::Plain),
            Run::Verdict { verdict: Mark::Fails },
            faced(" / ", Face::Plain),
            Run::Verdict { verdict: Mark::Open },
        ]),
    }));
    let entry = |task, text: &str| Entry { task, items: vec![item(body(text))] };
    items.push(item(Piece::List {
        start: None,
        entries: vec![
            entry(None, "a plate of steel, drilled from the old mounts so that nothing had to be welded to the body itself, and painted"),
            Entry {
                task: None,
                items: vec![
                    item(body("a list within it:")),
                    item(Piece::List { start: Some(9), entries: vec![entry(None, "nine"), entry(None, "ten"), entry(Some(true), "done"), entry(Some(false), "not done")] }),
                ],
            },
            Entry { task: None, items: Vec::new() },
        ],
    }));
    items.push(item(Piece::Quote {
        items: vec![
            item(body("The supplier wrote: the limit is one of the bearing, not of the winding.")),
            noted(body("Asked again in May."), &["letter 7"]),
        ],
    }));
    items.push(item(Piece::Rule));
    items.push(item(Piece::Code {
        text: "fn torque(speed: f64) -> f64 {\n    310.0\n}\n\n".to_owned() + &"x".repeat(200) + "\n",
    }));
    items.push(item(Piece::Paragraph {
        style: Style::Small,
        text: rich(
            "A small note about what was not calculated: heat, crash loads, and the strength of the plate.",
        ),
    }));
    items.push(heading(2, "Battery and high voltage", "battery"));
    items.push(item(png(400, 200, png::ColorType::Rgb, png::BitDepth::Eight)));
    items
        .push(item(Piece::Paragraph { style: Style::Caption, text: rich("The first module on the bench.") }));
    items.push(item(png(64, 32, png::ColorType::Rgba, png::BitDepth::Eight)));
    items.push(item(picture(PictureFormat::Jpeg, b"not a picture".to_vec(), (10, 10))));
    items.push(item(Piece::Table(table(70))));
    of_items(items)
}
