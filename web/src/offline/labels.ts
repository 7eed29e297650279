// Labels inside a waiting fact: a person puts right what the server did not know.

const FIELDS = ["a", "b", "end", "wrench", "gauge"];

/** Labels a body names, each once. */
export function labelsOf(body: Record<string, unknown>): string[] {
  const mates = Array.isArray(body["mates"]) ? (body["mates"] as Record<string, unknown>[]) : [];
  const found = [body, ...mates].flatMap((part) => FIELDS.map((field) => part[field]));
  return [...new Set(found.filter((label): label is string => typeof label === "string" && label !== ""))];
}

/** The body with one label in place of another. */
export function relabelled(body: Record<string, unknown>, from: string, to: string): Record<string, unknown> {
  const change = (part: Record<string, unknown>) => Object.fromEntries(Object.entries(part).map(([field, value]) => [field, FIELDS.includes(field) && value === from ? to : value]));
  const mates = body["mates"];
  return { ...change(body), ...(Array.isArray(mates) ? { mates: mates.map((mate) => change(mate as Record<string, unknown>)) } : {}) };
}
