//! What the workshop owns.

use matewell_lab::{Body, GaugeMethod, Grade, ItemKind, Sex};

/// One end as planned.
#[derive(Debug, Clone, Copy)]
pub(crate) struct EndPlan {
    pub(crate) interface: &'static str,
    pub(crate) sex: Sex,
    pub(crate) body: Body,
    pub(crate) grade: Grade,
}

/// One item with ends as planned.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ItemPlan {
    pub(crate) tag: &'static str,
    pub(crate) kind: ItemKind,
    pub(crate) description: &'static str,
    pub(crate) place: &'static str,
    /// Replacement cost in pounds. Invented, like everything here.
    pub(crate) pounds: Option<i64>,
    pub(crate) ends: &'static [EndPlan],
}

/// A gauge as planned; lengths in tenths of a micrometre.
#[derive(Debug, Clone, Copy)]
pub(crate) struct GaugePlan {
    pub(crate) tag: &'static str,
    pub(crate) interface: &'static str,
    pub(crate) method: GaugeMethod,
    pub(crate) uncertainty: Option<i64>,
    pub(crate) repeatability: i64,
    pub(crate) dof: u8,
    pub(crate) resolution: i64,
    pub(crate) master: &'static str,
    pub(crate) description: &'static str,
}

const fn end(interface: &'static str, sex: Sex, body: Body, grade: Grade) -> EndPlan {
    EndPlan { interface, sex, body, grade }
}

const fn steel_pin(interface: &'static str) -> EndPlan {
    end(interface, Sex::Pin, Body::Stainless, Grade::Instrument)
}

const fn steel_socket(interface: &'static str) -> EndPlan {
    end(interface, Sex::Socket, Body::Stainless, Grade::Instrument)
}

const fn standard(interface: &'static str) -> EndPlan {
    end(interface, Sex::Socket, Body::Stainless, Grade::Metrology)
}

const fn plain_pin(interface: &'static str) -> EndPlan {
    end(interface, Sex::Pin, Body::Brass, Grade::Production)
}

const fn plain_socket(interface: &'static str) -> EndPlan {
    end(interface, Sex::Socket, Body::Brass, Grade::Production)
}

const SMA_PIN: EndPlan = plain_pin("sma");
const SMA_SOCKET: EndPlan = plain_socket("sma");
const SMA_STEEL_PIN: EndPlan = steel_pin("sma");
const SMA_STEEL_SOCKET: EndPlan = steel_socket("sma");
const PIN_3_5: EndPlan = steel_pin("3.5mm");
const SOCKET_3_5: EndPlan = steel_socket("3.5mm");
const PIN_2_92: EndPlan = steel_pin("2.92mm");
const SOCKET_2_92: EndPlan = steel_socket("2.92mm");
const PIN_2_4: EndPlan = steel_pin("2.4mm");
const SOCKET_2_4: EndPlan = steel_socket("2.4mm");
const PIN_1_85: EndPlan = steel_pin("1.85mm");
const SOCKET_1_85: EndPlan = steel_socket("1.85mm");
const PIN_1_0: EndPlan = steel_pin("1.0mm");
const SOCKET_1_0: EndPlan = steel_socket("1.0mm");
const PIN_N: EndPlan = steel_pin("n50");
const SOCKET_N: EndPlan = steel_socket("n50");
const PIN_N_75: EndPlan = plain_pin("n75");
const SOCKET_N_75: EndPlan = plain_socket("n75");
const PLANE_7: EndPlan = end("7mm", Sex::Neutral, Body::Stainless, Grade::Metrology);

const fn cable(
    tag: &'static str,
    description: &'static str,
    place: &'static str,
    pounds: i64,
    ends: &'static [EndPlan],
) -> ItemPlan {
    ItemPlan { tag, kind: ItemKind::Cable, description, place, pounds: Some(pounds), ends }
}

const fn adapter(
    tag: &'static str,
    description: &'static str,
    pounds: i64,
    ends: &'static [EndPlan],
) -> ItemPlan {
    ItemPlan { tag, kind: ItemKind::Adapter, description, place: STORE, pounds: Some(pounds), ends }
}

const fn attenuator(tag: &'static str, description: &'static str, ends: &'static [EndPlan]) -> ItemPlan {
    // Nobody has entered what these cost: the tool has to say so.
    ItemPlan { tag, kind: ItemKind::Attenuator, description, place: STORE, pounds: None, ends }
}

const fn cal(
    tag: &'static str,
    description: &'static str,
    place: &'static str,
    pounds: i64,
    ends: &'static [EndPlan],
) -> ItemPlan {
    ItemPlan { tag, kind: ItemKind::CalibrationStandard, description, place, pounds: Some(pounds), ends }
}

const fn instrument(
    tag: &'static str,
    description: &'static str,
    place: &'static str,
    pounds: i64,
    ends: &'static [EndPlan],
) -> ItemPlan {
    ItemPlan { tag, kind: ItemKind::Instrument, description, place, pounds: Some(pounds), ends }
}

const fn device(
    tag: &'static str,
    description: &'static str,
    pounds: i64,
    ends: &'static [EndPlan],
) -> ItemPlan {
    ItemPlan { tag, kind: ItemKind::DeviceUnderTest, description, place: BENCH_1, pounds: Some(pounds), ends }
}

const BENCH_1: &str = "bench 1";
const BENCH_2: &str = "bench 2, screened room";
const BENCH_3: &str = "bench 3";
const STORE: &str = "store cupboard";
/// Where the 3.5 mm calibration standards belong.
pub(crate) const KIT_BOX: &str = "kit box 1";

/// Everything with ends.
pub(crate) const ITEMS: &[ItemPlan] = &[
    cable("CB-001", "Flexible cable, 1 m", BENCH_1, 60, &[SMA_PIN, SMA_PIN]),
    cable("CB-002", "Flexible cable, 1 m", BENCH_1, 60, &[SMA_PIN, SMA_PIN]),
    cable("CB-003", "Hand-formable cable, 0.3 m", BENCH_3, 25, &[SMA_PIN, SMA_PIN]),
    cable("CB-004", "Flexible cable, 1.5 m", BENCH_1, 95, &[SMA_STEEL_PIN, SMA_STEEL_PIN]),
    cable("CB-005", "Extension cable, 2 m", BENCH_3, 70, &[SMA_PIN, SMA_SOCKET]),
    cable("CB-006", "Extension cable, 2 m", STORE, 70, &[SMA_PIN, SMA_SOCKET]),
    cable("CB-007", "Flexible cable, 1 m, new from the drawer", STORE, 80, &[SMA_STEEL_PIN, SMA_STEEL_PIN]),
    cable("CB-008", "Flexible cable, 1 m", BENCH_1, 80, &[SMA_STEEL_PIN, SMA_STEEL_PIN]),
    cable("CB-009", "Flexible cable, 1.2 m", BENCH_1, 80, &[SMA_STEEL_PIN, SMA_STEEL_PIN]),
    cable("CB-010", "Receiver test cable, 1 m", BENCH_1, 310, &[PIN_3_5, SMA_STEEL_PIN]),
    cable("CB-011", "Phase-stable cable, 0.6 m", BENCH_1, 420, &[PIN_3_5, PIN_3_5]),
    cable("CB-012", "Phase-stable cable, 0.6 m", BENCH_1, 430, &[PIN_3_5, SOCKET_3_5]),
    cable("CB-013", "Phase-stable cable, 0.9 m", STORE, 440, &[PIN_3_5, PIN_3_5]),
    cable("CB-014", "Test-port cable, port 1", BENCH_1, 980, &[SOCKET_3_5, PIN_3_5]),
    cable("CB-015", "Test-port cable, port 2", BENCH_1, 980, &[SOCKET_3_5, PIN_3_5]),
    cable("CB-016", "Phase-stable cable, 0.6 m", BENCH_1, 420, &[PIN_3_5, PIN_3_5]),
    cable("CB-017", "Phase-stable cable, 0.6 m", STORE, 420, &[PIN_3_5, PIN_3_5]),
    cable("CB-018", "Cable to 40 GHz, 0.6 m", BENCH_2, 520, &[PIN_2_92, PIN_2_92]),
    cable("CB-019", "Cable to 40 GHz, 0.6 m", BENCH_2, 530, &[PIN_2_92, SOCKET_2_92]),
    cable("CB-020", "Cable to 40 GHz, 1 m", STORE, 560, &[PIN_2_92, PIN_2_92]),
    cable("CB-021", "Test-port cable, port 1", BENCH_2, 1450, &[SOCKET_2_4, PIN_2_4]),
    cable("CB-022", "Test-port cable, port 2", BENCH_2, 1450, &[SOCKET_2_4, PIN_2_4]),
    cable("CB-023", "Cable to 50 GHz, 0.5 m", BENCH_2, 690, &[PIN_2_4, PIN_2_4]),
    cable("CB-024", "Cable to 50 GHz, 0.5 m", STORE, 690, &[PIN_2_4, PIN_2_4]),
    cable("CB-025", "Cable to 67 GHz, 0.3 m", STORE, 1100, &[PIN_1_85, PIN_1_85]),
    cable("CB-026", "Cable to 67 GHz, 0.3 m", STORE, 1120, &[PIN_1_85, SOCKET_1_85]),
    cable("CB-027", "Cable to 110 GHz, 0.1 m", STORE, 1900, &[PIN_1_0, PIN_1_0]),
    cable("CB-028", "Power cable, 2 m", BENCH_3, 110, &[PIN_N, PIN_N]),
    cable("CB-029", "Power cable, 2 m", BENCH_3, 110, &[PIN_N, PIN_N]),
    cable("CB-030", "Test-port cable", BENCH_3, 240, &[PIN_N, PIN_N]),
    cable("CB-031", "75 Ω extension cable, 3 m", STORE, 85, &[PIN_N_75, SOCKET_N_75]),
    cable("CB-032", "75 Ω cable, 3 m", STORE, 85, &[PIN_N_75, PIN_N_75]),
    cable("CB-033", "Trigger cable, 1 m", BENCH_3, 15, &[plain_pin("bnc"), plain_pin("bnc")]),
    cable("CB-034", "Aerial cable, 4 m", STORE, 40, &[plain_pin("tnc"), plain_pin("tnc")]),
    adapter("AD-001", "3.5 mm socket to socket", 140, &[SOCKET_3_5, SOCKET_3_5]),
    adapter("AD-002", "3.5 mm wear adapter", 150, &[PIN_3_5, SOCKET_3_5]),
    adapter("AD-003", "3.5 mm pin to pin", 140, &[PIN_3_5, PIN_3_5]),
    adapter("AD-004", "3.5 mm pin to 2.92 mm socket", 170, &[PIN_3_5, SOCKET_2_92]),
    adapter("AD-005", "2.4 mm socket to socket", 260, &[SOCKET_2_4, SOCKET_2_4]),
    adapter("AD-006", "2.4 mm pin to 3.5 mm socket", 240, &[PIN_2_4, SOCKET_3_5]),
    adapter("AD-007", "N pin to 3.5 mm socket", 160, &[PIN_N, SOCKET_3_5]),
    adapter("AD-008", "N wear adapter", 90, &[PIN_N, SOCKET_N]),
    adapter("AD-009", "N socket to SMA socket", 45, &[SOCKET_N, SMA_SOCKET]),
    adapter("AD-010", "SMA pin to BNC socket", 20, &[SMA_PIN, plain_socket("bnc")]),
    adapter("AD-011", "3.5 mm wear adapter", 150, &[PIN_3_5, SOCKET_3_5]),
    adapter("AD-012", "7 mm to 3.5 mm socket", 380, &[PLANE_7, SOCKET_3_5]),
    adapter("AD-013", "7-16 pin to N socket", 75, &[plain_pin("7-16"), SOCKET_N]),
    adapter("AD-014", "3.5 mm wear adapter", 150, &[PIN_3_5, SOCKET_3_5]),
    adapter("AD-015", "SMA wear adapter", 35, &[SMA_STEEL_PIN, SMA_STEEL_SOCKET]),
    adapter("AD-016", "1.35 mm pin to 1.85 mm socket", 640, &[steel_pin("1.35mm"), SOCKET_1_85]),
    adapter("AD-017", "TNC socket to SMA socket", 30, &[plain_socket("tnc"), SMA_SOCKET]),
    attenuator("AT-001", "10 dB to 18 GHz", &[SMA_STEEL_PIN, SMA_STEEL_SOCKET]),
    attenuator("AT-002", "20 dB to 26.5 GHz", &[PIN_3_5, SOCKET_3_5]),
    attenuator("AT-003", "10 dB to 40 GHz", &[PIN_2_92, SOCKET_2_92]),
    attenuator("AT-004", "20 dB to 18 GHz, 5 W", &[PIN_N, SOCKET_N]),
    attenuator("AT-005", "6 dB to 110 GHz", &[PIN_1_0, SOCKET_1_0]),
    cal("CS-001", "3.5 mm open", KIT_BOX, 700, &[standard("3.5mm")]),
    cal("CS-002", "3.5 mm short", KIT_BOX, 650, &[standard("3.5mm")]),
    cal("CS-003", "3.5 mm load", KIT_BOX, 1200, &[standard("3.5mm")]),
    cal("CS-004", "3.5 mm thru", KIT_BOX, 480, &[standard("3.5mm"), standard("3.5mm")]),
    cal("CS-005", "2.4 mm open", BENCH_2, 950, &[standard("2.4mm")]),
    cal("CS-006", "2.4 mm short", BENCH_2, 900, &[standard("2.4mm")]),
    cal("CS-007", "2.4 mm load", BENCH_2, 1700, &[standard("2.4mm")]),
    cal("CS-008", "2.4 mm thru", BENCH_2, 640, &[standard("2.4mm"), standard("2.4mm")]),
    cal("CS-009", "N open", BENCH_3, 420, &[standard("n50")]),
    cal("CS-010", "N short", BENCH_3, 400, &[standard("n50")]),
    cal("CS-011", "N load", BENCH_3, 800, &[standard("n50")]),
    instrument(
        "IN-001",
        "Network analyser, four ports",
        BENCH_1,
        64_000,
        &[PIN_3_5, PIN_3_5, PIN_3_5, PIN_3_5],
    ),
    instrument(
        "IN-002",
        "Network analyser, four ports",
        BENCH_2,
        98_000,
        &[PIN_2_4, PIN_2_4, PIN_2_4, PIN_2_4],
    ),
    instrument("IN-003", "Signal analyser, input and reference", BENCH_1, 41_000, &[SOCKET_3_5, SOCKET_3_5]),
    instrument("IN-004", "Signal generator, two outputs", BENCH_1, 37_000, &[SOCKET_3_5, SOCKET_3_5]),
    instrument("IN-005", "Noise source controller", BENCH_3, 12_000, &[SOCKET_N, SOCKET_N]),
    instrument("IN-006", "Power sensor", BENCH_3, 2_900, &[PIN_N]),
    instrument("IN-007", "Oscilloscope", BENCH_3, 5_200, &[plain_socket("bnc"), plain_socket("bnc")]),
    device("DU-001", "Receiver module, L band", 1_800, &[SMA_SOCKET, SMA_SOCKET, SMA_SOCKET, SMA_SOCKET]),
    device("DU-002", "Receiver module, L band", 1_800, &[SMA_SOCKET, SMA_SOCKET, SMA_SOCKET, SMA_SOCKET]),
    device("DU-003", "Receiver module, S band", 2_100, &[SMA_SOCKET, SMA_SOCKET, SMA_SOCKET, SMA_SOCKET]),
    device("DU-004", "Receiver module, C band", 2_400, &[SMA_SOCKET, SMA_SOCKET, SMA_SOCKET, SMA_SOCKET]),
    device(
        "DU-005",
        "Receiver module, X band",
        2_900,
        &[SMA_STEEL_SOCKET, SMA_STEEL_SOCKET, SMA_SOCKET, SMA_SOCKET],
    ),
    device("DU-006", "Front end, 8 to 18 GHz", 4_600, &[SOCKET_3_5, SOCKET_3_5, SMA_SOCKET, SMA_SOCKET]),
    device("DU-007", "Front end, 18 to 26 GHz", 6_200, &[SOCKET_3_5, SOCKET_3_5, SMA_SOCKET, SMA_SOCKET]),
    device("DU-008", "Front end, 18 to 26 GHz", 6_200, &[SOCKET_3_5, SOCKET_3_5, SMA_SOCKET, SMA_SOCKET]),
    device("DU-009", "Front end, 26 to 40 GHz", 7_900, &[SOCKET_2_92, SOCKET_2_92, SMA_SOCKET, SMA_SOCKET]),
    device("DU-010", "Converter, 33 to 50 GHz", 9_400, &[SOCKET_2_4, SOCKET_2_4, SOCKET_2_92, SMA_SOCKET]),
    device(
        "DU-011",
        "Intermediate-frequency rack",
        3_300,
        &[SOCKET_N, SOCKET_N_75, plain_socket("bnc"), plain_socket("tnc")],
    ),
    device(
        "DU-012",
        "Multiplier head, 50 to 90 GHz",
        8_800,
        &[SOCKET_1_85, SOCKET_1_85, steel_socket("1.35mm"), SOCKET_1_0],
    ),
];

const fn gauge(
    tag: &'static str,
    interface: &'static str,
    method: GaugeMethod,
    figures: (Option<i64>, i64, u8, i64),
    master: &'static str,
    description: &'static str,
) -> GaugePlan {
    GaugePlan {
        tag,
        interface,
        method,
        uncertainty: figures.0,
        repeatability: figures.1,
        dof: figures.2,
        resolution: figures.3,
        master,
        description,
    }
}

/// Pin-depth gauges. Figures: standard uncertainty, repeatability, its degrees
/// of freedom, resolution.
pub(crate) const GAUGES: &[GaugePlan] = &[
    gauge("GA-001", "3.5mm", GaugeMethod::ScrewOn, (Some(15), 10, 32, 10), "GM-001", "3.5 mm gauge"),
    gauge("GA-002", "sma", GaugeMethod::PushOn, (Some(30), 20, 24, 10), "GM-002", "SMA gauge"),
    gauge("GA-003", "2.4mm", GaugeMethod::ScrewOn, (Some(15), 10, 28, 10), "GM-003", "2.4 mm gauge"),
    gauge("GA-004", "n50", GaugeMethod::PushOn, (Some(40), 25, 20, 20), "GM-004", "N gauge"),
    gauge("GA-005", "2.92mm", GaugeMethod::ScrewOn, (Some(15), 10, 28, 10), "GM-001", "2.92 mm gauge"),
    gauge("GA-006", "1.85mm", GaugeMethod::ScrewOn, (Some(15), 10, 16, 10), "GM-003", "1.85 mm gauge"),
    gauge("GA-007", "n75", GaugeMethod::PushOn, (Some(50), 30, 12, 20), "GM-005", "75 Ω N gauge"),
    gauge(
        "GA-008",
        "sma",
        GaugeMethod::PushOn,
        (None, 30, 8, 25),
        "GM-002",
        "Old SMA dial gauge, no certificate",
    ),
    gauge("GA-009", "1.0mm", GaugeMethod::ScrewOn, (Some(15), 10, 12, 5), "GM-003", "1.0 mm gauge"),
    gauge("GA-010", "3.5mm", GaugeMethod::PushOn, (Some(30), 15, 20, 10), "GM-001", "Spare 3.5 mm gauge"),
];

/// Masters on which the gauges are zeroed.
pub(crate) const MASTERS: &[(&str, &str)] = &[
    ("GM-001", "Flush master, 3.5 mm and 2.92 mm"),
    ("GM-002", "Flush master, SMA"),
    ("GM-003", "Flush master, 2.4 mm and smaller"),
    ("GM-004", "Stepped master, N 50 Ω"),
    ("GM-005", "Stepped master, N 75 Ω"),
];

/// Torque wrenches with their set points in hundredths of a newton metre. All
/// are permitted to deviate by 6 %.
pub(crate) const WRENCHES: &[(&str, i32, &str)] = &[
    ("TW-001", 56, "bench 1"),
    ("TW-002", 90, "bench 1"),
    ("TW-003", 90, "bench 1"),
    ("TW-004", 136, "bench 3"),
    ("TW-005", 90, "bench 2, screened room"),
];
