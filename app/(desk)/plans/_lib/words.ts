/** `0.00021` becomes `0.03 %`: rounded up, so that the claim is never better than the proof. */
export function gapWords(gap: number): string {
  if (gap <= 1e-6) return "nothing";
  const percent = Math.ceil(gap * 10_000) / 100;
  return `${percent < 1 ? percent.toFixed(2) : percent.toFixed(1)} %`;
}

/** `2027-Q1` becomes `1st quarter 2027`, `2030` stays. */
export function periodWords(period: string): string {
  const match = /^(\d{4})-Q([1-4])$/.exec(period);
  if (!match) return period;
  return `${["1st", "2nd", "3rd", "4th"][Number(match[2]) - 1]} quarter ${match[1]}`;
}
