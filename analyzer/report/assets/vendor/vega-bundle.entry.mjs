export { parse, View, version } from "vega";
export { compile } from "vega-lite";
export { expressionInterpreter } from "vega-interpreter";
