// How a person reads and types numbers: kept in this browser, for this person.
// What is stored and sent stays in the units of the API.

export type LengthUnit = "" | "um" | "mil";
export type Decimal = "." | ",";

const NAME = "matewell.personal";

interface Kept {
  length: LengthUnit;
  decimal: Decimal;
}

function kept(): Kept {
  try {
    const found = JSON.parse(localStorage.getItem(NAME) ?? "{}") as Partial<Kept>;
    return { length: found.length === "um" || found.length === "mil" ? found.length : "", decimal: found.decimal === "," ? "," : "." };
  } catch {
    return { length: "", decimal: "." };
  }
}

class Personal {
  /** Unit of short lengths; empty when nobody chose: shown in micrometres, and no unit is added to what is typed. */
  length = $state<LengthUnit>(kept().length);
  decimal = $state<Decimal>(kept().decimal);

  keep(change: Partial<Kept>): void {
    if (change.length !== undefined) this.length = change.length;
    if (change.decimal !== undefined) this.decimal = change.decimal;
    try {
      localStorage.setItem(NAME, JSON.stringify({ length: this.length, decimal: this.decimal }));
    } catch {
      // A browser that keeps nothing still works for this visit.
    }
  }
}

export const personal = new Personal();
