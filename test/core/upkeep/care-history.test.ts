import { expect, test } from "vitest";
import { TASK_KINDS } from "@/lib/core/heaters/vocabulary";
import { calendarDay } from "@/lib/core/shared/calendar-day";
import { type CareEntry, readCareHistory } from "@/lib/core/upkeep/care-history";
import { FINDING_LABELS, FINDINGS, isFindingOf } from "@/lib/core/upkeep/findings";

const entry = (task: CareEntry["task"], day: string, finding: string | null = null): CareEntry => ({
  task,
  day: calendarDay(day),
  finding,
});

test("entries in any order become days oldest first and the last finding of each task", () => {
  const { care, lastFindings } = readCareHistory([
    entry("flush", "2025-05-01", "clear"),
    entry("flush", "2024-02-29", "heavy-sediment"),
    entry("anode-inspection", "2025-05-01", "spent"),
    entry("anode-replacement", "2025-05-01", "replaced"),
  ]);

  expect(care.flushDays).toEqual(["2024-02-29", "2025-05-01"]);
  expect(care.anodeReplacementDays).toEqual(["2025-05-01"]);
  expect(care.anodeInspection).toEqual({ day: "2025-05-01", state: "spent" });
  expect(care.lastDone.flush).toBe("2025-05-01");
  expect(lastFindings.flush).toBe("clear");
});

test("a last finding that was not noted is not replaced by an older one", () => {
  const { care, lastFindings } = readCareHistory([
    entry("anode-inspection", "2023-05-01", "spent"),
    entry("anode-inspection", "2025-05-01"),
  ]);
  expect(lastFindings["anode-inspection"]).toBeUndefined();
  expect(care.anodeInspection).toEqual({ day: "2025-05-01", state: "unknown" });
});

test("no entries mean no care", () => {
  const { care, lastFindings } = readCareHistory([]);
  expect(care).toEqual({
    flushDays: [],
    anodeReplacementDays: [],
    anodeInspection: null,
    lastDone: {},
  });
  expect(lastFindings).toEqual({});
});

test("every task has findings in plain words, and only its own", () => {
  for (const task of TASK_KINDS) {
    expect(FINDINGS[task].length).toBeGreaterThan(0);
    for (const finding of FINDINGS[task]) {
      expect(FINDING_LABELS[finding].length).toBeGreaterThan(3);
      expect(isFindingOf(task, finding)).toBe(true);
    }
  }
  expect(isFindingOf("flush", "spent")).toBe(false);
});
