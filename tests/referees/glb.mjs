// A GLB file by Khronos' gltf-validator: no errors, no warnings.
//
//     npm install gltf-validator     (outside this folder)
//     NODE_PATH=… node glb.mjs FILE.glb …
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
const folder = process.env.NODE_PATH ? `${process.env.NODE_PATH}/` : import.meta.url;
const { validateBytes } = createRequire(folder)("gltf-validator");
for (const file of process.argv.slice(2)) {
  const { issues, info } = await validateBytes(new Uint8Array(readFileSync(file)));
  console.log(file, JSON.stringify(issues.messages), `${info.totalTriangleCount} triangles`);
  if (issues.numErrors || issues.numWarnings) process.exitCode = 1;
}
