// Writes sentences.json: sentences of the core as a running demo lab says them,
// one of each shape. Start a lab (`matewell --data lab.db serve --demo`), then
//   node test/harvest.mjs http://127.0.0.1:7373
import { existsSync, readFileSync, writeFileSync } from "node:fs";

const base = process.argv[2] ?? "http://127.0.0.1:7373";
const get = async (path) => {
  const answer = await fetch(`${base}/api/v1${path}`);
  return (answer.headers.get("content-type") ?? "").includes("json") ? answer.json() : null;
};

const found = new Map();
/** Two sentences have one shape when only their numbers, labels and names differ. */
const shape = (text) => text.replace(/[A-Z]{2,}[-0-9A-Z]*\d[-0-9A-Z]*/g, "T").replace(/\d+/g, "0").replace(/\b[A-Z][a-z]+ [A-Z][a-z]+\b/g, "P").replace(/0[.,]0/g, "0");
function keep(value) {
  if (typeof value === "string") {
    if (/\d/.test(value) && /\s/.test(value) && !found.has(shape(value))) found.set(shape(value), value);
  } else if (value !== null && typeof value === "object") Object.values(value).forEach(keep);
}

const ends = (await get("/ends?limit=1000")).ends;
const tags = ends.map((row) => row.end.tag);
const items = [...new Set(tags.map((tag) => tag.replace(/[AB]$/, "")))];
const paths = ["/due", "/tools", "/policy", "/kits", "/storage", "/cases", "/sweeps", "/health", "/interfaces", "/ends?limit=1000"];
for (const tag of tags) for (const what of ["", "/pin", "/kept", "/drift", "/dossier", "/look-guide", "/clean-guide"]) paths.push(`/ends/${tag}${what}`);
for (const tag of items) paths.push(`/items/${tag}`);
for (const tag of tags) paths.push(`/trace?ends=${tag}`, `/trace/back?ends=${tag}`);
const tools = (await get("/tools")).tools ?? [];
for (const tool of tools) paths.push(`/tools/${tool.tag}`, `/trace/tool?tool=${tool.tag}&since=2026-01-01`);
for (const one of (await get("/cases")).cases ?? []) paths.push(`/cases/${one.case ?? one.id}`, `/cases/${one.case ?? one.id}/dossier`);
// Pairs: each end with a few others, as asked and at a frequency.
for (let i = 0; i < tags.length; i += 1) for (const step of [1, 7, 19, 43]) paths.push(`/check?a=${tags[i]}&b=${tags[(i + step) % tags.length]}${i % 2 ? "&at=26.5GHz" : ""}`);
// Physics, and what is refused.
const line = {
  air: ["temperature=23degC", "temperature=hot", "temperature=23degC&humidity=40"],
  impedance: ["interface=3.5mm", "inner=1.52mm&outer=3.5mm&u_inner=2um", "inner=4mm&outer=3.5mm", "inner=12&outer=3.5mm"],
  cutoff: ["interface=3.5mm", "inner=1.52mm&outer=3.5mm"],
  gap: ["interface=3.5mm&gap=12um&u_gap=2um&at=18GHz", "interface=2.92mm&gap=62um&at=26.5GHz", "interface=3.5mm&gap=-3um&at=18GHz", "interface=3.5mm&gap=12&at=18GHz", "interface=3.5mm&gap=2mm&at=18GHz", "interface=3.5mm&gap=12,5um&at=18GHz"],
  recess: ["interface=3.5mm&recess=12um&at=18GHz", "interface=3.5mm&recess=900um&at=18GHz"],
  usable: ["interface=3.5mm&need=0.01&gap=20um", "interface=3.5mm&need=0.01&gap=0.1um", "interface=n50"],
  mismatch: ["source=0.02&load=0.05", "source=2&load=0.05"],
  convert: ["magnitude=0.05", "return_loss=30dB", "vswr=0.5", "impedance=75ohm"],
  loss: ["interface=3.5mm&at=18GHz&length=100mm&conductivity=14MS/m", "interface=3.5mm&at=18GHz&length=100mm"],
  offcentre: ["interface=3.5mm&offset=20um&length=2mm&at=18GHz", "interface=3.5mm&offset=900um&length=2mm&at=18GHz"],
  step: ["interface=3.5mm&other_interface=2.92mm&at=18GHz", "interface=3.5mm&other_inner=1.5mm&other_outer=3.5mm&at=18GHz"],
  shift: ["length=20um&u_length=1um&at=18GHz"],
  slots: ["interface=3.5mm&slots=4&slot_width=100um"],
  thermal: ["outer_length=100mm&outer_expansion=19ppm/K&inner_length=100mm&inner_expansion=17ppm/K&rise=5K&gap=12um"],
  chain: ["links=0.02,0.03", "links=0.02"],
  cost: ["interface=3.5mm&gap=12um&u_gap=3um&at=18GHz&wanted=0.01", "interface=3.5mm&gap=12um&measurand=reflection&device=0.1&at=18GHz"],
};
for (const [name, asked] of Object.entries(line)) for (const one of asked) paths.push(`/line/${name}?${one}`);
for (const bad of ["/ends/NOWHERE-1A", "/study/window?set_point=0.9N.m", "/study/gauge", "/sweep/compare", "/check?a=CB-014A&b=CB-014A&frequency=18", "/sweep/trend"]) paths.push(bad);
for (const one of (await get("/sweeps")).sweeps) for (const what of ["compare", "check", "trace", "time"]) paths.push(`/sweep/${what}?sweep=${one.fact}`);
for (const path of paths) keep(await get(path));

// Questions with a body: sessions, void and slipped ones among them, and studies of the tables in docs/examples.
const post = async (path, body, type = "application/json") => {
  const answer = await fetch(`${base}/api/v1${path}`, { method: "POST", body, headers: { "content-type": type } });
  return answer.json();
};
const reading = (distance, word = "recessed") => ({ word, distance });
const session = { end: "CB-015A", gauge: "GA-001", readings: ["12.4um", "11um", "13.25um"].map((d) => reading(d)) };
for (const more of [
  {},
  { zero_before: [reading("0um", "")], zero_after: [reading("6.3um")] },
  { zero_before: [reading("0um", "")], zero_after: [reading("0um", "")], temperature: "31.5degC" },
  { readings: [reading("12um"), reading("1um"), reading("44um")] },
  { readings: [reading("1.5um", "protruding")] },
  { readings: [reading("12")] },
  { readings: [reading("1200um")] },
  { dielectric: reading("80um") },
  { master: "GM-002" },
]) keep(await post("/gaugings/budget", JSON.stringify({ ...session, ...more })));
const table = (name) => readFileSync(new URL(`../../docs/examples/studies/${name}`, import.meta.url));
for (const [path, name] of [
  ["/study/gauge?pool=0.25&f_over=repeatability&tolerance=50um", "gauge-study.csv"],
  ["/study/gauge", "gauge-study.csv"],
  ["/study/nested", "nested-study.csv"],
  ["/study/chart", "check-standard.csv"],
  ["/study/compare", "comparison.csv"],
  ["/study/torque?set=0.9N.m&tool_type=II-B", "torque-readings.csv"],
]) if (existsSync(new URL(`../../docs/examples/studies/${name}`, import.meta.url))) keep(await post(path, table(name), "text/csv"));
keep(await post("/study/compare", "lab,result (um),expanded uncertainty (um)\nA,12.5,1\nB,x,1\n", "text/csv"));
keep(await get("/study/window"));
writeFileSync(new URL("sentences.json", import.meta.url), `${JSON.stringify([...found.values()].sort(), null, 1)}\n`);
console.log(`${paths.length} answers, ${found.size} sentences`);
