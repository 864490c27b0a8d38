// `npm run schema`: the bench file's JSON Schema, for editors that complete and check YAML.
import { benchJsonSchema } from "../lib/bench/jsonSchema.ts";
import { writeWhole } from "./writeWhole.ts";

const [path = "dist/bench.schema.json"] = process.argv.slice(2);
await writeWhole(path, `${JSON.stringify(benchJsonSchema(), null, 2)}\n`);
console.log(path);
