/** Something that keeps the program from starting and that a person can put right: one clear line. */
export class StartError extends Error {}
