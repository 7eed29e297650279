// Which options each study has. What they mean and what is allowed, the API says.
export interface Option {
  name: string;
  label: string;
  hint?: string;
  choices?: [string, string][];
  /** What its numbers are: a length may be typed in the person's unit, and any number with the person's decimal sign. */
  number?: "length" | "other";
  /** Shown for a table only, or for the lab's facts only. */
  only?: "table" | "facts";
}

export interface Question {
  key: string;
  name: string;
  about: string;
  columns: string;
  sources: ("table" | "facts")[];
  options: Option[];
}

const by: Option = { name: "by", label: "Who counts as appraiser", choices: [["person", "Person"], ["gauge", "Gauge"]], only: "facts" };
const window: Option[] = [
  { name: "since", label: "Facts from", hint: "A date; all when empty.", only: "facts" },
  { name: "until", label: "Facts up to", hint: "A date; now when empty.", only: "facts" },
];
const table: Option[] = [
  { name: "unit", label: "Unit", hint: "Only where the header has none, for example um.", only: "table" },
  { name: "decimal", label: "Decimal sign", choices: [["", "As the numbers show"], ["comma", "Comma"], ["point", "Point"]], only: "table" },
  { name: "columns", label: "Columns", hint: "Other headers, for example: part=Connector; reading=Depth (um)", only: "table" },
];

export const QUESTIONS: Question[] = [
  {
    key: "gauge",
    name: "Gauge study",
    about: "Several appraisers read several parts several times: what is due to the gauge, what to the appraisers, what to the parts?",
    columns: "appraiser, part, reading (um)",
    sources: ["table", "facts"],
    options: [
      { name: "pool", number: "other", label: "Pool the interaction", hint: "keep, always, or from which probability on, for example 0.25. Works differ, so nothing is preset." },
      { name: "f_over", label: "Ratios over", choices: [["", "Choose"], ["repeatability", "Repeatability"], ["interaction", "Interaction"]] },
      { name: "tolerance", number: "length", label: "Tolerance", hint: "Width of the band, for example 50um; may stay empty." },
      { name: "ends", label: "Ends", hint: "Labels, separated by commas.", only: "facts" },
      by,
      ...window,
      ...table,
    ],
  },
  {
    key: "nested",
    name: "Nested study",
    about: "Repeats within days within runs: what is one day's reading worth?",
    columns: "end, run, day, reading (um)",
    sources: ["table", "facts"],
    options: [
      { name: "repeats", number: "other", label: "Readings a day", hint: "Only for a table of daily means and standard deviations.", only: "table" },
      { name: "end", label: "End", hint: "Label of one end; its gaugings are the days.", only: "facts" },
      by,
      ...window,
      ...table,
    ],
  },
  {
    key: "chart",
    name: "Charts of a check standard",
    about: "Single values, weighted means and cumulative sums: is it still what it was?",
    columns: "date, reading (um), event",
    sources: ["table", "facts"],
    options: [
      { name: "tool", label: "Gauge", hint: "Label of a gauge; its zero checks are charted.", only: "facts" },
      { name: "target", number: "length", label: "Target", hint: "With unit; the mean of each phase when empty." },
      { name: "sigma", number: "length", label: "Standard deviation", hint: "With unit; from the moving range when empty." },
      { name: "lambda", number: "other", label: "Weight of the newest value" },
      { name: "reach", number: "other", label: "Reach of the limits" },
      { name: "cusum_k", number: "other", label: "Allowance of the sums" },
      { name: "cusum_h", number: "other", label: "Decision interval of the sums" },
      ...window,
      ...table,
    ],
  },
  {
    key: "compare",
    name: "Comparison",
    about: "Do two gauges, or two labs, agree within their uncertainties?",
    columns: "lab, end, result (um), expanded uncertainty (um)",
    sources: ["table", "facts"],
    options: [
      { name: "end", label: "End", hint: "Label of an end that both gauges read.", only: "facts" },
      { name: "gauges", label: "Gauges", hint: "Two labels, separated by a comma.", only: "facts" },
      { name: "coverage", number: "other", label: "Coverage", only: "facts" },
      ...table,
    ],
  },
  {
    key: "torque",
    name: "Torque tool",
    about: "Deviation and uncertainty of a torque tool from reference readings.",
    columns: "influence, series, reference (N.m)",
    sources: ["table", "facts"],
    options: [
      { name: "set", number: "other", label: "Set to", hint: "With unit, for example 0.9N.m.", only: "table" },
      { name: "tool", label: "Wrench", hint: "Label of a wrench; its last check is evaluated.", only: "facts" },
      { name: "tool_type", label: "Type of tool", hint: "For example II-B." },
      { name: "permissible", number: "other", label: "Permissible deviation", hint: "In percent, instead of the table's." },
      { name: "device", number: "other", label: "Uncertainty of the reference", hint: "Relative standard uncertainty in percent." },
      { name: "device_error", number: "other", label: "Error of the reference", hint: "In percent, not corrected." },
      { name: "resolution", number: "other", label: "Resolution", hint: "With unit; 0 for a fixed setting." },
      ...table,
    ],
  },
  {
    key: "window",
    name: "Set point windows",
    about: "What a set point means in torque: of every wrench, or of one set point.",
    columns: "",
    sources: ["facts"],
    options: [
      { name: "set", number: "other", label: "Set to", hint: "With unit; every wrench of the lab when empty." },
      { name: "tool_type", label: "Type of tool", hint: "For example II-B." },
      { name: "permissible", number: "other", label: "Permissible deviation", hint: "In percent." },
    ],
  },
];
