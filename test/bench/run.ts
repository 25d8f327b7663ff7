import { readdir } from "node:fs/promises";
import { basename, join } from "node:path";
import { pathToFileURL } from "node:url";

/** `npm run bench [name …]`: every benchmark, or those whose file names contain one of the words. */
const folder = join(process.cwd(), "test/bench");
const words = process.argv.slice(2);
const files = (await readdir(folder)).filter((file) => file.endsWith(".bench.ts")).sort();

for (const file of files) {
  const name = basename(file, ".bench.ts");
  if (words.length > 0 && !words.some((word) => name.includes(word))) continue;
  console.log(`\n# ${name}`);
  const bench = (await import(pathToFileURL(join(folder, file)).href)) as {
    run: () => Promise<void>;
  };
  await bench.run();
}
