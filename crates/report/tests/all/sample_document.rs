//! Invented documents: a plant, a dryer, a lot and readings that never were. No figure is the result of anything.

use super::sample;
use fallrate_report::*;

/// Which language the sample is written in.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Tongue {
    English,
    Spanish,
}

impl Tongue {
    pub fn of(self, english: &str, spanish: &str) -> String {
        match self {
            Self::English => english.to_owned(),
            Self::Spanish => spanish.to_owned(),
        }
    }
}

pub fn words(t: Tongue) -> DocumentWords {
    DocumentWords {
        table_behind: t.of("The same as a table", "Lo mismo en una tabla"),
        watch: t.of("Watch", "Vigile"),
        meaning: t.of("What", "Qué"),
        name: t.of("Name and signature", "Nombre y firma"),
        at: t.of("Date and time", "Fecha y hora"),
        note: t.of("Note", "Nota"),
        chosen: t.of("chosen", "elegido"),
        not_chosen: t.of("not chosen", "no elegido"),
    }
}

fn fact(label: String, value: &str, note: Option<String>) -> Fact {
    Fact { label, value: value.to_owned(), note }
}

fn heading(level: u8, text: String) -> Block {
    Block::Heading { level, text }
}

/// A batch record whose answer is no, in a language, for a sheet.
pub fn record(t: Tongue, paper: Paper) -> Document {
    let mut blocks = first_page(t);
    blocks.extend(evidence(t));
    blocks.extend(corrective_action(t));
    blocks.extend(signatures(t));
    Document {
        language: t.of("en", "es-MX"),
        title: t.of("Batch record, lot B-0412", "Registro del lote B-0412"),
        subject: t.of(
            "Beef strips 6 mm, cabinet North, 12 March 2026",
            "Tiras de res de 6 mm, secador Norte, 12 de marzo de 2026",
        ),
        author: "Quillay Valley Dried Meats".into(),
        date: Some("2026-03-12".into()),
        paper,
        flag: None,
        running_head: t.of(
            "Quillay Valley Dried Meats (invented) · lot B-0412",
            "Quillay Valley Dried Meats (inventada) · lote B-0412",
        ),
        running_foot: t.of(
            "Chain head 3f9a 01c4 77d2 e8b0 · Fallrate 0.1.0",
            "Cabeza de la cadena 3f9a 01c4 77d2 e8b0 · Fallrate 0.1.0",
        ),
        page_word: t.of("Page {page} of {pages}", "Página {page} de {pages}"),
        words: words(t),
        blocks,
    }
}

fn first_page(t: Tongue) -> Vec<Block> {
    let n = |english, spanish| t.of(english, spanish);
    vec![
        Block::Answer {
            sign: Sign::No,
            headline: n(
                "Not met: 2 min short on the air-leaving probe",
                "No cumplido: faltaron 2 min en la sonda de salida de aire",
            ),
            subline: n(
                "The plan's own limit was missed, and so was the published criterion. The lot is on hold.",
                "No se mantuvo el límite del plan ni se cumplió el criterio publicado. El lote está retenido.",
            ),
        },
        Block::Facts(vec![
            fact(
                n("Product", "Producto"),
                &n("Beef strips, cured, 6 mm", "Tiras de res curadas, 6 mm"),
                None,
            ),
            fact(n("Lot", "Lote"), "B-0412", Some(n("raw lots R-221, R-222", "lotes crudos R-221, R-222"))),
            fact(n("Species", "Especie"), &n("beef", "res"), None),
            fact(n("Quantity", "Cantidad"), "22.0 kg", Some(n("18 trays", "18 charolas"))),
            fact(
                n("Critical limit", "Límite crítico"),
                &n("146 °F for 4 min, humid", "146 °F por 4 min, con humedad"),
                Some(n("CCP 2, plan version 7", "PCC 2, plan versión 7")),
            ),
            fact(
                n("Support", "Respaldo"),
                &n("Invented guideline, 2021", "Guía inventada, 2021"),
                Some(n("table 3, option 2: vent shut", "tabla 3, opción 2: compuerta cerrada")),
            ),
            fact(n("Cabinet", "Secador"), &n("North", "Norte"), None),
            fact(n("Run", "Marcha"), "06:40 – 14:20", None),
        ]),
        Block::Compare(Comparison {
            title: n("What decided, at the coldest position", "Lo que decidió, en la posición más fría"),
            label_word: n("Requirement", "Requisito"),
            shown_word: n("Shown", "Demostrado"),
            required_word: n("Required", "Requerido"),
            answer_word: n("Answer", "Respuesta"),
            rows: vec![
                measure(
                    n("Dwell at 145 °F or hotter", "Permanencia a 145 °F o más"),
                    "2.0 min",
                    n("at least 4.0 min", "al menos 4.0 min"),
                    Sign::No,
                    n("not met", "no cumplido"),
                    Some(n(
                        "core probe 2, air-leaving end, reading less 1 °F tolerance",
                        "sonda 2, salida de aire, lectura menos 1 °F de tolerancia",
                    )),
                ),
                measure(
                    n("Humid minutes, vent shut", "Minutos húmedos, compuerta cerrada"),
                    "121 min",
                    n("at least 60 min", "al menos 60 min"),
                    Sign::Yes,
                    n("met", "cumplido"),
                    Some(n("38 of 159 minutes did not count", "38 de 159 minutos no contaron")),
                ),
                measure(
                    n("Come-up, 50 to 130 °F", "Subida, de 50 a 130 °F"),
                    "1 h 52 min",
                    n("at most 6 h", "6 h como máximo"),
                    Sign::Yes,
                    n("met", "cumplido"),
                    None,
                ),
                measure(
                    n("Water activity, packed", "Actividad de agua, empacado"),
                    "–",
                    n("at most 0.85", "0.85 como máximo"),
                    Sign::Open,
                    n("cannot be judged", "no se puede juzgar"),
                    Some(n("no result from the laboratory yet", "aún sin resultado del laboratorio")),
                ),
            ],
        }),
        Block::Notice {
            level: Level::Act,
            word: n("Act now", "Actúe ya"),
            text: n(
                "Hold the lot. Do not pack it before the process authority has decided.",
                "Retenga el lote. No lo empaque antes de que decida la autoridad del proceso.",
            ),
        },
        Block::Keep(vec![
            heading(1, n("Instruments", "Instrumentos")),
            Block::Table(Table {
                title: String::new(),
                header: vec![
                    Column::left(&n("Instrument", "Instrumento")),
                    Column::left(&n("Place", "Lugar")),
                    Column::right(&n("Tolerance, °F", "Tolerancia, °F")),
                    Column::left(&n("Calibrated", "Calibrado")),
                ],
                rows: vec![
                    vec![
                        "T-07".into(),
                        n("core, tray 14, air-leaving end", "núcleo, charola 14, salida de aire"),
                        "1.0".into(),
                        "2026-01-30".into(),
                    ],
                    vec![
                        "T-11".into(),
                        n("wet bulb, air entering", "bulbo húmedo, entrada de aire"),
                        "1.0".into(),
                        "2026-01-30".into(),
                    ],
                ],
                note: None,
            }),
        ]),
    ]
}

fn measure(
    label: String,
    shown: &str,
    required: String,
    answer: Sign,
    word: String,
    note: Option<String>,
) -> Measure {
    Measure { label, shown: shown.to_owned(), required, answer, word, note }
}

fn evidence(t: Tongue) -> Vec<Block> {
    let n = |english, spanish| t.of(english, spanish);
    let mut strip = sample::strip();
    let mut chart = sample::run_chart();
    chart.series.retain(|s| s.kind == Kind::Measured);
    chart.bands.clear();
    chart.now = None;
    chart.x_hours = Some((0.0, 3.5));
    chart.stages.truncate(3);
    chart.marks.truncate(2);
    chart.axes.truncate(2);
    chart.description = n(
        "The core at the air-leaving end passes the limit after three hours.",
        "El núcleo en la salida de aire pasa el límite a las tres horas.",
    );
    if t == Tongue::Spanish {
        strip.title = "Paso húmedo: contaron 121 de 159 minutos".into();
        strip.description = "Dos tramos no contaron: puerta abierta y corte de luz.".into();
        strip.counted = "contado".into();
        strip.not_counted = "no contado".into();
        let reasons =
            ["puerta abierta: humedad bajo el límite", "corte de luz: sin lectura del bulbo húmedo"];
        for (span, reason) in strip.spans.iter_mut().filter(|s| !s.counted).zip(reasons) {
            span.reason = reason.into();
        }
        chart.title = "Tiras de res de 6 mm, secador Norte".into();
    }
    vec![
        heading(1, n("Evidence", "Evidencia")),
        Block::Text(n(
            "Every figure on page one comes from the readings below. No forecast was used. A minute counts only if the reading, less the tolerance of its instrument, reaches the limit.",
            "Cada cifra de la primera página viene de las lecturas de abajo. No se usó ningún pronóstico. Un minuto cuenta solo si la lectura, menos la tolerancia del instrumento, alcanza el límite.",
        )),
        heading(2, n("Humid minutes", "Minutos húmedos")),
        Block::Picture(Picture::Strip(strip)),
        heading(2, n("Measured temperatures", "Temperaturas medidas")),
        Block::Picture(Picture::Chart(chart)),
        heading(2, n("Readings", "Lecturas")),
        Block::Table(readings(t)),
    ]
}

fn readings(t: Tongue) -> Table {
    let n = |english, spanish| t.of(english, spanish);
    let row = |i: u32| {
        let minutes = 400 + 3 * i;
        let core = 148.0 - 78.0 * (-f64::from(i) / 22.0).exp();
        let (counted, reason) = if (9..16).contains(&i) {
            (
                n("no", "no"),
                n("power off: no reading of the wet bulb", "corte de luz: sin lectura del bulbo húmedo"),
            )
        } else {
            (n("yes", "sí"), String::new())
        };
        vec![
            format!("{:02}:{:02}", minutes / 60, minutes % 60),
            format!("{core:.1}"),
            format!("{:.1}", core - 1.0),
            format!("{:.1}", 138.0 - 50.0 * (-f64::from(i) / 8.0).exp()),
            counted,
            reason,
        ]
    };
    Table {
        title: n("Every reading of the humid step", "Todas las lecturas del paso húmedo"),
        header: vec![
            Column::right(&n("Clock", "Hora")),
            Column::right(&n("Core, °F", "Núcleo, °F")),
            Column::right(&n("less tolerance, °F", "menos tolerancia, °F")),
            Column::right(&n("Wet bulb, °F", "Bulbo húmedo, °F")),
            Column::left(&n("Counted", "Contado")),
            Column::left(&n("Reason", "Motivo")),
        ],
        rows: (0..64).map(row).collect(),
        note: Some(n(
            "Readings as the logger wrote them; file b0412.csv.",
            "Lecturas tal como las escribió el registrador; archivo b0412.csv.",
        )),
    }
}

fn corrective_action(t: Tongue) -> Vec<Block> {
    let n = |english, spanish| t.of(english, spanish);
    let field = |label: String, text: String, blank_lines| Field { label, text, blank_lines };
    vec![
        heading(1, n("Corrective action", "Acción correctiva")),
        Block::Fields(vec![
            field(
                n("1  Cause found and removed", "1  Causa hallada y eliminada"),
                n(
                    "Power was off from 08:52 to 09:30. The breaker was replaced.",
                    "No hubo luz de 08:52 a 09:30. Se cambió el interruptor.",
                ),
                0,
            ),
            field(n("2  Under control again", "2  De nuevo bajo control"), String::new(), 2),
            field(n("3  What keeps it from coming back", "3  Qué evita que se repita"), String::new(), 2),
        ]),
        Block::Choices(Choices {
            label: n("4  Product that may be affected", "4  Producto que puede estar afectado"),
            options: vec![
                Choice { text: n("held and tagged, 8.2 kg", "retenido y marcado, 8.2 kg"), chosen: true },
                Choice {
                    text: n(
                        "cooked again under a written schedule",
                        "cocido de nuevo con un programa escrito",
                    ),
                    chosen: false,
                },
                Choice { text: n("destroyed", "destruido"), chosen: false },
            ],
        }),
    ]
}

fn signatures(t: Tongue) -> Vec<Block> {
    let n = |english, spanish| t.of(english, spanish);
    let line = |meaning: String, name: &str, at: &str, note: Option<String>| SignLine {
        meaning,
        name: name.into(),
        at: at.into(),
        note,
    };
    vec![
        Block::Keep(vec![
            heading(1, n("Signed", "Firmado")),
            Block::Lines(vec![
                line(n("Monitored", "Vigiló"), "M. Reyes", "2026-03-12 14:31", None),
                line(
                    n("Verified", "Verificó"),
                    "A. Ortega",
                    "2026-03-12 15:02",
                    Some(n(
                        "the same person as the reviewer: no other on site",
                        "la misma persona que revisa: no hay otra en planta",
                    )),
                ),
                line(n("Reviewed before shipping", "Revisó antes del embarque"), "", "", None),
            ]),
        ]),
        heading(1, n("Limits and sources", "Límites y fuentes")),
        Block::List(vec![
            n(
                "Core temperature and dwell: an invented guideline, 2021 edition, table 3, row 145 °F (read).",
                "Temperatura del núcleo y permanencia: una guía inventada, edición 2021, tabla 3, fila 145 °F (leído).",
            ),
            n(
                "Local codes, the regulator and the process authority decide. A reading is only as good as its calibration.",
                "Deciden las normas locales, la autoridad y la autoridad del proceso. Una lectura vale lo que su calibración.",
            ),
        ]),
        Block::Small(
            n("Chain head ", "Cabeza de la cadena ")
                + &"3f9a01c477d2e8b0".repeat(4)
                + n(". Data SHA-256 ", ". SHA-256 de los datos ").as_str()
                + &"0123456789abcdef".repeat(4),
        ),
    ]
}

/// A card that is taped to a dryer.
pub fn card(t: Tongue, paper: Paper) -> Document {
    let n = |english, spanish| t.of(english, spanish);
    let act = |clock: String, text: String, watch: Option<String>| Act { clock, text, watch };
    Document {
        language: t.of("en", "es"),
        title: n("Card for cabinet North", "Tarjeta del secador Norte"),
        subject: n("Beef strips 6 mm, 22.0 kg, lot B-0413", "Tiras de res de 6 mm, 22.0 kg, lote B-0413"),
        author: "Quillay Valley Dried Meats".into(),
        date: Some("2026-03-13".into()),
        paper,
        flag: Some(Flag {
            word: n("FORECAST", "PRONÓSTICO"),
            meaning: n(
                "Calculated before the run; no evidence.",
                "Calculado antes de la marcha; no es evidencia.",
            ),
        }),
        running_head: n("Lot B-0413 · 13 March 2026", "Lote B-0413 · 13 de marzo de 2026"),
        running_foot: "Fallrate 0.1.0".into(),
        page_word: n("Page {page} of {pages}", "Página {page} de {pages}"),
        words: words(t),
        blocks: vec![
            Block::Answer {
                sign: Sign::Plain,
                headline: n("Dial 7 h 10 min", "Gire a 7 h 10 min"),
                subline: n(
                    "Slowest tray at 25 % about 13:55, 13:05 to 14:50",
                    "Charola más lenta al 25 % a las 13:55, de 13:05 a 14:50",
                ),
            },
            Block::Steps(vec![
                act(
                    "06:40".into(),
                    n(
                        "Load 18 trays, vent shut. Set 165 °F, fan full.",
                        "Cargue 18 charolas, compuerta cerrada. 165 °F, ventilador al máximo.",
                    ),
                    Some(n("door closed by 06:48", "puerta cerrada a las 06:48")),
                ),
                act(
                    n("about 07:05", "cerca de 07:05"),
                    n(
                        "Pour 1 L of water into the tray under the fan.",
                        "Vierta 1 L de agua en la charola bajo el ventilador.",
                    ),
                    Some(n("wet bulb 125 °F or more", "bulbo húmedo de 125 °F o más")),
                ),
                act(
                    "09:04".into(),
                    n("Vent to a quarter.", "Compuerta a un cuarto."),
                    Some(n(
                        "not before the core reads 146 °F for 4 min",
                        "no antes de que el núcleo marque 146 °F por 4 min",
                    )),
                ),
                act("12:00".into(), n("Weigh trays 3, 8 and 14.", "Pese las charolas 3, 8 y 14."), None),
                act(
                    "13:50".into(),
                    n(
                        "Timer ends. Leave the door shut until 14:20.",
                        "Termina el temporizador. Deje la puerta cerrada hasta 14:20.",
                    ),
                    None,
                ),
            ]),
            Block::Notice {
                level: Level::Caution,
                word: n("Take care", "Cuidado"),
                text: n(
                    "Core thermometer: check it in ice water before loading.",
                    "Termómetro del núcleo: revíselo en agua con hielo antes de cargar.",
                ),
            },
        ],
    }
}

/// A document that holds a foreign text wherever it can hold one.
pub fn evil_document(evil: &str) -> Document {
    let e = || evil.to_owned();
    let table = || Table {
        title: e(),
        header: vec![Column::left(evil), Column::right(evil)],
        rows: vec![vec![e(), e(), e()], vec![]],
        note: Some(e()),
    };
    let span = |counted| Span { from_h: if counted { 0.0 } else { 1.0 }, to_h: 2.0, counted, reason: e() };
    let strip = Strip {
        title: e(),
        description: e(),
        clock_start: None,
        spans: vec![span(true), span(false)],
        counted: e(),
        not_counted: e(),
    };
    let measure =
        Measure { label: e(), shown: e(), required: e(), answer: Sign::Open, word: e(), note: Some(e()) };
    Document {
        language: e(),
        title: e(),
        subject: e(),
        author: e(),
        date: Some(e()),
        paper: Paper::A4,
        flag: Some(Flag { word: e(), meaning: e() }),
        running_head: e(),
        running_foot: e(),
        page_word: format!("{evil}{{page}}{evil}{{pages}}{evil}"),
        words: DocumentWords {
            table_behind: e(),
            watch: e(),
            meaning: e(),
            name: e(),
            at: e(),
            note: e(),
            chosen: e(),
            not_chosen: e(),
        },
        blocks: vec![
            Block::Answer { sign: Sign::Yes, headline: e(), subline: e() },
            Block::Heading { level: 1, text: e() },
            Block::Text(e()),
            Block::Small(e()),
            Block::List(vec![e()]),
            Block::Steps(vec![Act { clock: e(), text: e(), watch: Some(e()) }]),
            Block::Notice { level: Level::Act, word: e(), text: e() },
            Block::Facts(vec![Fact { label: e(), value: e(), note: Some(e()) }]),
            Block::Compare(Comparison {
                title: e(),
                label_word: e(),
                shown_word: e(),
                required_word: e(),
                answer_word: e(),
                rows: vec![measure],
            }),
            Block::Table(table()),
            Block::Picture(Picture::Strip(strip)),
            Block::Lines(vec![SignLine { meaning: e(), name: e(), at: e(), note: Some(e()) }]),
            Block::Choices(Choices { label: e(), options: vec![Choice { text: e(), chosen: true }] }),
            Block::Fields(vec![Field { label: e(), text: e(), blank_lines: 255 }]),
            Block::Keep(vec![Block::Table(table()), Block::PageBreak]),
        ],
    }
}
