import { expect, test } from "vitest";
import { mappingOfGuesses } from "@/lib/core/exchange/guess-columns";
import { sampleCsv, templateCsv } from "@/lib/core/exchange/sample-file";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { readHeaterRows, surveyTable } from "@/lib/services/import/read-heater-file";
import { openTable } from "@/lib/services/import/read-table";

const TODAY = calendarDay("2026-11-25");

async function openText(parts: Iterable<string>) {
  const opened = await openTable({ bytes: new TextEncoder().encode([...parts].join("")) });
  if (!opened.ok) throw new Error(opened.problems[0]?.message);
  const survey = await surveyTable(opened.value, { today: TODAY });
  if (!survey.ok) throw new Error(survey.problems[0]?.message);
  return { table: opened.value, guesses: survey.value.guesses };
}

test("the invented sample is matched without a hand, and all of it but the row with the slip is read", async () => {
  const { table, guesses } = await openText(sampleCsv());

  expect(guesses.filter(({ match }) => match === null)).toEqual([]);
  const read = readHeaterRows(table, mappingOfGuesses(guesses), { today: TODAY });
  if (!read.ok) throw new Error(read.problems[0]?.message);
  const problems: string[] = [];
  for await (const rows of read.value) {
    for (const row of rows) problems.push(...row.problems.map(({ message }) => message));
  }
  expect(problems).toEqual(["row 10: install date 2035-02-01 is in the future"]);
});

test("every heading of the empty template is matched", async () => {
  const { guesses } = await openText(templateCsv());

  expect(guesses.length).toBeGreaterThan(40);
  expect(guesses.filter(({ match }) => match === null)).toEqual([]);
});
