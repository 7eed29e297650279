// Answers of studies as tables and lists. Display only: names, units, digits.
import { plainName, significant } from "../quantities";

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

export function heading(key: string): string {
  const found = UNITS.find(([end]) => key.endsWith(end));
  return found ? `${plainName(key.slice(0, -found[0].length))} (${found[1]})` : plainName(key);
}

export function cellText(value: Json | undefined): string {
  if (value === null || value === undefined) return "";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "number") return numberOf(value);
  if (typeof value === "string") return value;
  if (Array.isArray(value)) return value.map(cellText).join(", ");
  if (typeof value.tag === "string") return value.tag;
  if (typeof value.text === "string") return value.text;
  if (typeof value.source === "string") return `${value.source}, ${cellText(value.locator)} (${cellText(value.evidence)})`;
  return Object.values(value).map(cellText).filter(Boolean).join(", ");
}

/** Six digits; a power of ten where zeros would hide the number. */
function numberOf(value: number): string {
  const size = Math.abs(value);
  if (value !== 0 && (size < 1e-4 || size >= 1e9)) return value.toExponential(3).replace("-", "\u2212").replace("e-", "e\u2212");
  return significant(value, 6);
}

const isRow = (value: Json | undefined): value is Row => typeof value === "object" && value !== null && !Array.isArray(value);

/** The single values, those of groups with the group's name in front. */
export function facts(answer: Row, group = ""): [string, string][] {
  return Object.entries(answer).flatMap(([key, value]): [string, string][] => {
    if (ELSEWHERE.includes(key) || value === null) return [];
    const name = group === "" ? heading(key) : `${group}: ${heading(key).toLowerCase()}`;
    if (Array.isArray(value)) return value.length === 0 || isRow(value[0]) ? [] : [[name, cellText(value)]];
    return isRow(value) ? facts(value, name) : [[name, cellText(value)]];
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
