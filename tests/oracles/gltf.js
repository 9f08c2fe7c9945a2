// A GLB file against the official validator of the standard: no errors, no warnings.
//     node gltf.js FOLDER_WITH_NODE_MODULES FILE
const fs = require("fs");
const path = require("path");
const [folder, file] = process.argv.slice(2);
const validator = require(path.resolve(folder, "node_modules/gltf-validator"));

validator.validateBytes(new Uint8Array(fs.readFileSync(file))).then((report) => {
  const { numErrors, numWarnings, messages } = report.issues;
  console.log(`gltf-validator ${report.validatorVersion}: ${numErrors} errors, ${numWarnings} warnings`);
  if (numErrors + numWarnings > 0 || report.info.totalVertexCount === 0) {
    console.error(JSON.stringify(messages.slice(0, 20), null, 1));
    process.exit(1);
  }
});
