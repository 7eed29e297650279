// Answers of studies as tables and lists. Display only: names, units, digits.
import { lengthUnit, lengthValue, plainName, significant } from "../quantities";
import { inMyNumbers } from "../said";

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type Row = { [key: string]: Json };

/** Ends of keys and the units they stand for, longer ones first. */
const UNITS: [string, string][] = [
  ["_um_per_100_mates", "µm per 100 mates"],
  ["_percent", "%"],
  ["_in_lbf", "in·lbf"],
  ["_n_m", "N·m"],
  ["_um", "µm"],
];

/** Keys that the page shows at a place of their own, or that only machines need. */
const ELSEWHERE = ["summary", "findings", "inputs", "method", "source", "question", "readings_from", "readings", "band", "unit", "cells", "end", "at", "fact", "forecasts"];

/** Numbers without a unit in their key that are in the unit of the readings, as the API has them. */
const READINGS = new Set([
  "standard_deviation", "mean", "range", "mean_range", "appraiser_range", "part_range", "standard_uncertainty",
  "value", "weighted_mean", "weighted_lower", "weighted_upper", "sum_up", "sum_down", "centre", "mean_moving_range", "sigma",
  "lower", "upper", "moving_range_upper", "target", "cusum_allowance", "cusum_decision", "first", "second",
  "first_expanded_uncertainty", "second_expanded_uncertainty", "difference", "difference_expanded_uncertainty",
]);
const SQUARES = new Set(["sum_of_squares", "mean_square"]);

export function heading(key: string): string {
  const found = UNITS.find(([end]) => key.endsWith(end));
  return found ? `${plainName(key.slice(0, -found[0].length))} (${found[1].replace("µm", lengthUnit())})` : plainName(key);
}

/** What stands in a cell; `key` and the unit of the readings say what a number is. */
export function cellText(value: Json | undefined, key = "", unit = ""): string {
  if (value === null || value === undefined) return "";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "number") return numberOf(value * factor(key, unit));
  // A label or a word stays as it is; a moment and a sentence are put as this person reads them.
  if (typeof value === "string") return key === "text" || /^\d{4}-\d\d-\d\dT/.test(value) ? inMyNumbers(value) : value;
  if (Array.isArray(value)) return value.map((one) => cellText(one, key, unit)).join(", ");
  if (typeof value.tag === "string") return value.tag;
  if (typeof value.text === "string") return inMyNumbers(value.text);
  if (typeof value.source === "string") return `${value.source}, ${cellText(value.locator)} (${cellText(value.evidence)})`;
  return Object.entries(value).map(([name, one]) => cellText(one, name, unit)).filter(Boolean).join(", ");
}

function factor(key: string, unit: string): number {
  if (/_um(_per_100_mates)?$/.test(key)) return lengthValue(1);
  if (unit !== "um") return 1;
  return READINGS.has(key) ? lengthValue(1) : SQUARES.has(key) ? lengthValue(1) ** 2 : 1;
}

/** Six digits; a power of ten where zeros would hide the number. */
function numberOf(value: number): string {
  const size = Math.abs(value);
  if (value !== 0 && (size < 1e-4 || size >= 1e9)) return inMyNumbers(value.toExponential(3).replace(/^-/, "\u2212").replace("e-", "e\u2212").replace("e+", "e"));
  return significant(value, 6);
}

const isRow = (value: Json | undefined): value is Row => typeof value === "object" && value !== null && !Array.isArray(value);

/** The single values, those of groups with the group's name in front. */
export function facts(answer: Row, group = "", unit = answer.unit): [string, string][] {
  const of = typeof unit === "string" ? unit : "";
  return Object.entries(answer).flatMap(([key, value]): [string, string][] => {
    if (ELSEWHERE.includes(key) || value === null) return [];
    const name = group === "" ? heading(key) : `${group}: ${heading(key).toLowerCase()}`;
    if (Array.isArray(value)) return value.length === 0 || isRow(value[0]) ? [] : [[name, cellText(value, key, of)]];
    return isRow(value) ? facts(value, name, unit) : [[name, cellText(value, key, of)]];
  });
}

export interface Table {
  name: string;
  columns: string[];
  rows: Row[];
}

/** The lists of an answer. A column that is empty everywhere is left out. */
export function tables(answer: Row, group = ""): Table[] {
  return Object.entries(answer).flatMap(([key, value]): Table[] => {
    if (ELSEWHERE.includes(key)) return [];
    const name = group === "" ? heading(key) : `${group}: ${heading(key).toLowerCase()}`;
    if (isRow(value)) return tables(value, name);
    if (!Array.isArray(value) || !isRow(value[0])) return [];
    const rows = value.filter(isRow);
    const columns = [...new Set(rows.flatMap((row) => Object.keys(row).filter((k) => row[k] !== null && k !== "fact")))];
    return [{ name, columns, rows }];
  });
}
