import { afterEach, expect, test } from "vitest";
import { personal } from "../src/personal.svelte";
import { cellText, facts, heading } from "../src/study/shown";

afterEach(() => personal.keep({ length: "", decimal: "." }));

test("what is in the unit of the readings follows the person; counts, shares and labels do not", () => {
  const row = { unit: "um", trials: 3, sum_of_squares: 645.16, standard_deviation: 2.54, percent_of_total: 4.8, first: "Larkmoor 2.5" };
  expect(facts(row)).toContainEqual(["Standard deviation", "2.54"]);
  personal.keep({ length: "mil", decimal: "," });
  expect(facts(row)).toEqual([["Trials", "3"], ["Sum of squares", "1"], ["Standard deviation", "0,1"], ["Percent of total", "4,8"], ["First", "Larkmoor 2.5"]]);
  expect(heading("slope_um_per_100_mates")).toBe("Slope (mil per 100 mates)");
  expect(cellText(25.4, "slope_um_per_100_mates")).toBe("1");
  expect(cellText(0.9, "set_n_m", "N.m")).toBe("0,9");
  expect(cellText(0.9, "standard_deviation", "N.m")).toBe("0,9");
  expect(cellText(1.5e-7, "probability")).toBe("1,500e\u22127");
});
