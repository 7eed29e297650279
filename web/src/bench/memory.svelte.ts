// What this bench remembers between scans: who works here, with which wrench and gauge, at which frequency.

const KEPT = ["person", "wrench", "gauge", "frequency"] as const;
type Name = (typeof KEPT)[number];

class Bench {
  person = $state(kept("person"));
  wrench = $state(kept("wrench"));
  gauge = $state(kept("gauge"));
  frequency = $state(kept("frequency"));

  keep(name: Name, value: string): void {
    this[name] = value;
    try {
      localStorage.setItem(`matewell.${name}`, value);
    } catch {
      // A browser that keeps nothing still works for this visit.
    }
  }
}

function kept(name: Name): string {
  try {
    return localStorage.getItem(`matewell.${name}`) ?? "";
  } catch {
    return "";
  }
}

export const bench = new Bench();
