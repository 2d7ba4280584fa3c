//! A dossier of one chapter as a reader would meet it, with every piece.

use std::sync::Arc;

use super::sample::{
    PNG, Placed, column, document, heading, inner, item, outer, paragraph, plain, row, run, verdict,
};
use crate::dossier::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use crate::dossier::piece::{
    Align, ContentsEntry, Document, Entry, Face, HeadlineFigure, Mark, Picture, PictureFormat, Piece, Rich,
    Row, Run, SignatureBox, Style, Table, Target, Working,
};

/// A dossier of one chapter, as a reader would meet it.
pub(super) fn chapter() -> Document {
    document(vec![
        heading(1, "Conversion of a light van").at("top"),
        paragraph(
            Style::Lead,
            vec![
                run("A 1.2-tonne van is given an electric drive of ", Face::Plain),
                run("60\u{a0}kW", Face::Strong),
                run(
                    " and a battery of 27.4\u{a0}kWh. Two requirements are close \
            to their limit, one fails, three are open.",
                    Face::Plain,
                ),
            ],
        ),
        item(Piece::Caution {
            high_voltage: true,
            title: "Up to 403\u{a0}V between the battery’s poles".to_owned(),
            lines: vec![plain(
                "Open the service disconnect and wait ten minutes before a \
            cover is taken off. Measure before you touch.",
            )],
        }),
        item(Piece::Contents {
            entries: vec![
                contents(2, "Drive", "drive", Some(Mark::Meets)),
                contents(3, "Gearing and motor speed", "speed", None),
                contents(2, "High voltage", "high-voltage", Some(Mark::Fails)),
                contents(3, "The cable from battery to inverter", "main-run", Some(Mark::Close)),
                contents(3, "Precharge", "precharge", Some(Mark::Open)),
            ],
        }),
        heading(2, "Drive").at("drive"),
        heading(3, "Gearing and motor speed").at("speed"),
        paragraph(
            Style::Body,
            vec![
                run(
                    "The gearbox stays, locked in third. At 110\u{a0}km/h the \
            motor turns at ",
                    Face::Plain,
                ),
                inner("12\u{a0}133\u{a0}rpm", "drive.motor_speed"),
                run(
                    ", which leaves room to the 13\u{a0}000\u{a0}rpm that its \
            plate allows; see ",
                    Face::Plain,
                ),
                outer("the data sheet", "https://example.org/sheet?a=1&b=2"),
                run(" and the note on ", Face::Plain),
                run("P", Face::Emphasis),
                run("max", Face::Sub),
                run(
                    ". The final drive was counted by hand: ten turns of the \
            wheel, forty-four and a half of the flange.",
                    Face::Plain,
                ),
            ],
        )
        .noted(&["2031-02-14", "journal, line 48"]),
        item(Piece::List {
            start: None,
            entries: vec![
                Entry {
                    task: Some(true),
                    items: vec![
                        paragraph(
                            Style::Body,
                            vec![run("flange runout measured, 0.03\u{a0}mm", Face::Plain)],
                        )
                        .noted(&["measured 2031-02-16"]),
                    ],
                },
                Entry {
                    task: Some(false),
                    items: vec![paragraph(
                        Style::Body,
                        vec![run("drain and refill the gearbox", Face::Plain)],
                    )],
                },
            ],
        }),
        item(Piece::Opening {
            kind: "drive · motor-speed".to_owned(),
            name: "drive".to_owned(),
            words: Rich::default(),
            sentence: plain(
                "At 110\u{a0}km/h in third gear the motor turns at \
            12\u{a0}133\u{a0}rpm, 6.7\u{a0}% under its limit.",
            ),
        })
        .at("drive.block")
        .noted(&["worked 2031-04-02", "drive.md, line 52"]),
        item(Piece::Headline {
            figures: vec![
                HeadlineFigure {
                    label: "motor speed".to_owned(),
                    value: "12\u{a0}133\u{a0}rpm".to_owned(),
                    target: Some(Target::Inner { id: "drive.motor_speed".to_owned() }),
                },
                HeadlineFigure {
                    label: "tractive force, 10\u{a0}s".to_owned(),
                    value: "3.84\u{a0}kN".to_owned(),
                    target: None,
                },
            ],
        }),
        item(Piece::Table(Table {
            columns: vec![column("given", Align::Left, 5), column("value", Align::Decimal, 4)],
            rows: vec![
                row(&["vehicle speed", "110\u{a0}km/h"]).noted(&["stated, article 3"]),
                row(&["third gear", "1.281"]).noted(&["stated, workshop manual p. 41"]),
                row(&["final drive", "4.45"]).noted(&["measured on this vehicle", "2031-02-14"]),
                row(&["rolling radius", "0.2785\u{a0}m ± 0.002\u{a0}m"]).noted(&["measured, laden"]),
                row(&["slip", "—"]),
            ],
            caption: None,
        })),
        item(Piece::Table(requirements())),
        item(Piece::Results {
            summary: "how it was worked".to_owned(),
            table: Table {
                columns: vec![column("Result", Align::Left, 5), column("Value", Align::Decimal, 4)],
                rows: vec![
                    row(&["wheel speed", "17.4620\u{a0}rev/s"]).at("drive.wheel_speed"),
                    row(&["motor speed", "12\u{a0}133\u{a0}rpm"])
                        .at("drive.motor_speed")
                        .noted(&["formula, recomputed"]),
                ],
                caption: None,
            },
            workings: vec![
                Working {
                    from: plain("speed / (2 π · rolling radius)"),
                    result: plain("17.4620\u{a0}rev/s"),
                },
                Working {
                    from: plain("wheel speed · third gear · final drive"),
                    result: plain("12\u{a0}133\u{a0}rpm"),
                },
            ],
            members: Vec::new(),
            lines: Vec::new(),
        }),
        item(Piece::Figure {
            drawing: curve(),
            caption: plain(
                "Force at the wheel against speed, third gear; the limit of \
            the shaft is dashed.",
            ),
        })
        .noted(&["stated by the maker"]),
        heading(2, "High voltage").at("high-voltage"),
        heading(3, "The cable from battery to inverter").at("main-run"),
        item(Piece::Quote {
            items: vec![
                paragraph(
                    Style::Body,
                    vec![run(
                        "Route it outside the cabin, in orange conduit, and clamp it \
            every 300\u{a0}mm.",
                        Face::Plain,
                    )],
                )
                .noted(&["note of the first inspection"]),
                paragraph(Style::Small, vec![run("The clamps are listed in the parts list.", Face::Plain)]),
            ],
        }),
        item(Piece::Code { text: format!("id,length\nmain,{}\n\tnext,2.4", "7".repeat(200)) }),
        paragraph(
            Style::Body,
            vec![run("A word without end: ", Face::Plain), run(&"W".repeat(200), Face::Strong)],
        ),
        item(Piece::Picture(Picture {
            alt: "The cable at the bulkhead".to_owned(),
            format: PictureFormat::Png,
            bytes: Arc::from(PNG),
            width: 400,
            height: 220,
        })),
        paragraph(Style::Caption, vec![run("The cable at the bulkhead, before the grommet.", Face::Plain)]),
        item(Piece::Rule),
        heading(3, "Precharge").at("precharge"),
        item(Piece::Table(wide())),
        item(Piece::List {
            start: Some(4),
            entries: [
                "close the precharge relay",
                "wait until the difference is under 20\u{a0}V",
                "close the main contactor",
            ]
            .iter()
            .map(|step| Entry {
                task: None,
                items: vec![paragraph(Style::Body, vec![run(step, Face::Plain)])],
            })
            .collect(),
        }),
        item(Piece::Signatures {
            boxes: ["Builder", "Inspector"]
                .iter()
                .map(|who| SignatureBox {
                    title: (*who).to_owned(),
                    lines: vec!["name".to_owned(), "place and date".to_owned(), "signature".to_owned()],
                })
                .collect(),
        }),
    ])
}

fn contents(level: u8, text: &str, id: &str, mark: Option<Mark>) -> ContentsEntry {
    let remark = Rich(mark.map(verdict).into_iter().collect());
    ContentsEntry { level, text: plain(text), id: id.to_owned(), remark }
}

fn requirements() -> Table {
    let line = |name: &str, value: &str, limit: &str, mark: Mark, share: f64| {
        let mut row = row(&[name, value, limit]);
        row.cells.extend([Rich(vec![Run::Margin { share }]), Rich(vec![verdict(mark)])]);
        row
    };
    Table {
        columns: vec![
            column("requirement", Align::Left, 4),
            column("value", Align::Decimal, 3),
            column("limit", Align::Decimal, 3),
            column("margin", Align::Left, 0),
            column("", Align::Left, 0),
        ],
        rows: vec![
            line("motor speed", "12\u{a0}133\u{a0}rpm", "≤ 13\u{a0}000\u{a0}rpm", Mark::Meets, 0.47)
                .noted(&["clause 4.2", "met"]),
            line("shaft torque", "611.5\u{a0}Nm", "≤ 620\u{a0}Nm", Mark::Close, 0.06).noted(&["clause 4.3"]),
            line("isolation resistance", "41.2\u{a0}kΩ", "≥ 201.5\u{a0}kΩ", Mark::Fails, -0.8).noted(&[
                "clause 7.1, and the remark of the first inspection on the wet harness",
                "initials ______",
            ]),
            line("braking balance", "not known", "≥ 0.55", Mark::Open, 0.0),
            Row { strong: true, ..line("all of the drive", "4", "—", Mark::Fails, -1.0) },
        ],
        caption: Some(plain("Requirements of this block")),
    }
}

fn wide() -> Table {
    let names = ["time", "voltage", "current", "energy", "power", "temperature", "resistance", "remark"];
    Table {
        columns: names
            .iter()
            .map(|name| column(name, if *name == "remark" { Align::Left } else { Align::Decimal }, 0))
            .collect(),
        rows: (1..7)
            .map(|step| {
                let n = f64::from(step);
                let numbers = [0.05 * n, 403.0 - n, 8.06 / n, 1234.5 * n, 3248.0 / n, 20.25 + n, 50.0];
                let cells: Vec<String> = numbers
                    .iter()
                    .zip(["s", "V", "A", "J", "W", "°C", "Ω"])
                    .map(|(number, unit)| format!("{number:.1}\u{a0}{unit}"))
                    .collect();
                let cells: Vec<&str> = cells.iter().map(String::as_str).chain(["as calculated"]).collect();
                row(&cells)
            })
            .collect(),
        caption: Some(plain("Eight columns")),
    }
}

fn curve() -> Drawing {
    let line = |points: Vec<(f64, f64)>, weight, ink, dashed| Stroke::Line { points, weight, ink, dashed };
    let text =
        |x, y, text: &str, size, anchor, ink| Stroke::Text { x, y, text: text.to_owned(), size, anchor, ink };
    let force: Vec<(f64, f64)> = (0..=60)
        .map(|step| (40.0 + f64::from(step) * 6.0, 160.0 - 110.0 / (1.0 + (f64::from(step) / 30.0).powi(4))))
        .collect();
    let mut shape = force.clone();
    shape.extend([(400.0, 160.0), (40.0, 160.0)]);
    let mut marks = vec![
        Stroke::Area { points: shape, ink: Ink::Tint },
        line(force, Weight::Thick, Ink::Accent, false),
        line(vec![(40.0, 30.0), (400.0, 30.0)], Weight::Thick, Ink::Fails, true),
        text(400.0, 26.0, "limit of the shaft, 4.2\u{a0}kN", TextSize::Label, Anchor::End, Ink::Fails),
        text(150.0, 62.0, "force at the wheel", TextSize::Label, Anchor::Start, Ink::Accent),
        line(vec![(40.0, 20.0), (40.0, 160.0), (400.0, 160.0)], Weight::Thin, Ink::Black, false),
        text(6.0, 14.0, "kN", TextSize::Small, Anchor::Start, Ink::Quiet),
        text(400.0, 184.0, "km/h", TextSize::Small, Anchor::End, Ink::Quiet),
    ];
    for step in 0..=6u8 {
        let x = 40.0 + 60.0 * f64::from(step);
        marks.push(line(vec![(x, 160.0), (x, 163.0)], Weight::Thin, Ink::Black, false));
        marks.push(text(
            x,
            172.0,
            &(20 * u32::from(step)).to_string(),
            TextSize::Small,
            Anchor::Middle,
            Ink::Quiet,
        ));
    }
    Drawing {
        width: 410.0,
        height: 190.0,
        alt: "Force at the wheel falls from 3.8 kN to 0.2 kN at 120 km/h, \
            always under the limit of 4.2 kN"
            .to_owned(),
        marks,
    }
}
