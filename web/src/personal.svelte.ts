// How a person reads and types numbers: kept in this browser, for this person.
// What is stored and sent stays in the units of the API.

export type LengthUnit = "" | "um" | "mil";
export type Decimal = "." | ",";
export type Times = "local" | "utc";

const NAME = "matewell.personal";

interface Kept {
  length: LengthUnit;
  decimal: Decimal;
  times: Times;
}

function kept(): Kept {
  try {
    const found = JSON.parse(localStorage.getItem(NAME) ?? "{}") as Partial<Kept>;
    return {
      length: found.length === "um" || found.length === "mil" ? found.length : "",
      decimal: found.decimal === "," ? "," : ".",
      times: found.times === "utc" ? "utc" : "local",
    };
  } catch {
    return { length: "", decimal: ".", times: "local" };
  }
}

class Personal {
  /** Unit of short lengths; empty when nobody chose: shown in micrometres, and no unit is added to what is typed. */
  length = $state<LengthUnit>(kept().length);
  decimal = $state<Decimal>(kept().decimal);
  times = $state<Times>(kept().times);

  keep(change: Partial<Kept>): void {
    if (change.length !== undefined) this.length = change.length;
    if (change.decimal !== undefined) this.decimal = change.decimal;
    if (change.times !== undefined) this.times = change.times;
    try {
      localStorage.setItem(NAME, JSON.stringify({ length: this.length, decimal: this.decimal, times: this.times }));
    } catch {
      // A browser that keeps nothing still works for this visit.
    }
  }
}

export const personal = new Personal();
