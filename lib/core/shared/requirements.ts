/** Guards for arguments that only a programmer can get wrong. */

/** @throws {RangeError} naming the argument when it is not a finite number. */
export function requireFinite(name: string, value: number): number {
  if (!Number.isFinite(value))
    throw new RangeError(`${name} must be a finite number, got ${value}`);
  return value;
}

/** @throws {RangeError} naming the argument when it is below zero or not a number. */
export function requireAtLeastZero(name: string, value: number): number {
  if (!(value >= 0)) throw new RangeError(`${name} must be zero or more, got ${value}`);
  return value;
}

/** @throws {RangeError} naming the argument when it is not above zero. */
export function requirePositive(name: string, value: number): number {
  if (!(value > 0)) throw new RangeError(`${name} must be above zero, got ${value}`);
  return value;
}
