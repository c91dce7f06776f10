// The held-out engraver: ABC text in, one HTML page out. node abc_pages.js LIBRARY_DIR IN.abc OUT.html
const fs = require("fs"), vm = require("vm");
vm.runInThisContext(fs.readFileSync(process.argv[2] + "/abc2svg-1.js", "utf8"));
let out = "", bad = 0;
const user = {read_file: () => "", errmsg: (m) => { bad++; console.error(m); }, img_out: (s) => { out += s + "\n"; }, page_format: true};
new abc2svg.Abc(user).tosvg("p", fs.readFileSync(process.argv[3], "utf8"));
fs.writeFileSync(process.argv[4], '<!DOCTYPE html><html><meta charset="utf-8"><body style="background:#fff;margin:0">' + out + "</body></html>");
