// What a person typed, as the API reads it: with a point, and with the unit this
// person chose where a length has none.
import { personal } from "../personal.svelte";
import { typedText } from "./numbers";

export const numberTyped = (text: string): string => typedText(text, personal.decimal);
export const lengthTyped = (text: string): string => typedText(text, personal.decimal, personal.length);
/** A reading keeps the unit it was given in its field. */
export const readingTyped = <R extends { distance: string }>(reading: R): R => ({ ...reading, distance: numberTyped(reading.distance) });
