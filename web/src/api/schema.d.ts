/**
 * Written in the shape of openapi-typescript until the first generated file;
 * `npm run api` replaces it.
 */

export interface paths {
  "/api/v1/check": Get<{ a: string; b: string; at?: string | null; wrench?: string | null; as_of?: string | null }, never, S["MateCheckJson"]>;
  "/api/v1/ends": Get<{ filter?: string; offset?: number; limit?: number | null }, never, S["EndListJson"]>;
  "/api/v1/ends/{tag}": Get<{ as_of?: string | null }, { tag: string }, S["EndJson"]>;
  "/api/v1/due": Get<{ as_of?: string | null }, never, S["DueListJson"]>;
  "/api/v1/mates": Post<S["MateBody"]>;
  "/api/v1/partings": Post<S["PairBody"]>;
  "/api/v1/inspections": Post<S["InspectBody"]>;
  "/api/v1/gaugings": Post<S["GaugeBody"]>;
  "/api/v1/cleanings": Post<S["CleanBody"]>;
  "/api/v1/holds": Post<S["ReasonBody"]>;
  "/api/v1/releases": Post<S["ReasonBody"]>;
  "/api/v1/retirements": Post<S["ReasonBody"]>;
  "/api/v1/corrections": Post<S["FactBody"]>;
  "/api/v1/follow-ups": Post<S["FactBody"]>;
}

type S = components["schemas"];

interface Answers<T, Status extends number> {
  responses: { [K in Status]: { headers: { [name: string]: unknown }; content: { "application/json": T } } } & {
    404: { headers: { [name: string]: unknown }; content: { "application/problem+json": S["Problem"] } };
    409: { headers: { [name: string]: unknown }; content: { "application/problem+json": S["Problem"] } };
    422: { headers: { [name: string]: unknown }; content: { "application/problem+json": S["Problem"] } };
  };
}

interface Get<Query, Path, T> {
  parameters: { query?: never; header?: never; path?: never; cookie?: never };
  get: {
    parameters: ({} extends Query ? { query?: Query } : { query: Query }) & { header?: never; cookie?: never } & ([Path] extends [never] ? { path?: never } : { path: Path });
    requestBody?: never;
  } & Answers<T, 200>;
}

interface Post<Body> {
  parameters: { query?: never; header?: never; path?: never; cookie?: never };
  post: {
    parameters: { query?: never; header?: { "idempotency-key"?: string | null }; path?: never; cookie?: never };
    requestBody: { content: { "application/json": Body } };
  } & Answers<S["WrittenJson"], 201>;
}

export interface components {
  schemas: {
    BulkMate: { a: string; b: string; happened_at: string; wrench?: string | null };
    CautionJson: { code: string; text: string };
    CleanBody: S["SaidBody"] & { end: string; method?: string | null };
    DueJson: { tag: string; end?: string | null; location?: string | null; task: string; text: string; rank: number; since?: string | null };
    DueListJson: { at: string; due: S["DueJson"][] };
    EndJson: {
      standing: S["EndStandingJson"];
      item: S["ItemJson"];
      interface: string;
      sex: string;
      grade: string;
      body: string;
      slots: string;
      contacts: number;
      contacts_since_gauging: number;
      mated_with?: null | S["EndNameJson"];
      history: S["EventJson"][];
    };
    EndListJson: { ends: S["EndRowJson"][]; total: number; offset: number };
    EndNameJson: { id: string; tag: string };
    EndRowJson: { end: S["EndNameJson"]; item_tag: string; interface: string; sex: string };
    EndStandingJson: { end: S["EndNameJson"]; at: string; standing: string; findings: S["FindingJson"][]; usable_up_to_hz?: number | null; pin: S["PinJson"] };
    EventJson: { fact: string; kind: string; happened_at: string; resolution: string; recorded_at: string; person: string; text: string; note?: string | null; corrected: boolean };
    FactBody: S["SaidBody"] & { fact: string; because: string };
    FindingJson: { code: string; weight: string; text: string; remedy?: string | null; end?: null | S["EndNameJson"]; numbers: S["NumberJson"][]; facts: string[]; origins: S["OriginJson"][] };
    GaugeBody: S["SaidBody"] & { end: string; gauge?: string | null; readings: S["ReadingBody"][]; standard_uncertainty?: string | null };
    InspectBody: S["SaidBody"] & { end: string; outcome: string; seen?: string[]; magnification?: number | null };
    ItemJson: { id: string; tag: string; kind: string; description: string; location?: string | null; ends: S["EndNameJson"][] };
    JointGapJson: { gap_um: number; u_gap_um: number; interference_probability: number; reflection_magnitude?: number | null; u_reflection_magnitude?: number | null };
    MateBody: S["SaidBody"] & { a: string; b: string; wrench?: string | null; at?: string | null; override_because?: string | null };
    MateCheckJson: {
      answer: string;
      at: string;
      frequency_hz?: number | null;
      a: S["EndStandingJson"];
      b: S["EndStandingJson"];
      findings: S["FindingJson"][];
      gap?: null | S["JointGapJson"];
      usable_up_to_hz?: number | null;
      torque: S["TorqueAdviceJson"];
      hold_still: string;
      cautions: S["CautionJson"][];
      sheets_revision: string;
    };
    NumberJson: { name: string; value: number; unit: string; standard_uncertainty?: number | null; no_uncertainty_because?: string | null; origin: S["OriginJson"] };
    OriginJson: { source: string; locator: string; evidence: string };
    PairBody: S["SaidBody"] & { a: string; b: string };
    PinJson: { decision: string; word?: string | null; distance_um?: number | null; u_distance_um?: number | null; protrusion_probability?: number | null; gauged_at?: string | null; gauge?: string | null; readings_needed?: number | null };
    Problem: { type: string; title: string; status: number; detail: string; code: string } & Record<string, unknown>;
    ReadingBody: { word: string; distance: string };
    ReasonBody: S["SaidBody"] & { end: string; because: string; evidence?: string | null };
    SaidBody: { person: string; happened_at?: string | null; note?: string | null; source?: string | null };
    StandingEvent: { tag: string; end: string; standing: string };
    TorqueAdviceJson: { torque_n_m?: number | null; torque_in_lbf?: number | null; limited_by?: null | S["EndNameJson"]; text: string; origins: S["OriginJson"][]; wrenches: S["WrenchJson"][] };
    WrenchJson: { id: string; tag: string };
    WrittenJson: { facts: string[]; ends: S["EndStandingJson"][]; check?: null | S["MateCheckJson"] };
  };
}
