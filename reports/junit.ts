import { visible } from "./html.ts";

/** One comparison of a regression, as a build server shows it. */
export interface JunitCase {
  readonly name: string;
  readonly decision: "pass" | "fail" | "undecided" | "not measured";
  /** One line: what differs from what was allowed. */
  readonly message: string;
  readonly details: string;
}

export interface JunitSuite {
  readonly suite: string;
  readonly cases: readonly JunitCase[];
  /** Said once for the whole suite: revisions, rule. */
  readonly properties?: Readonly<Record<string, string>>;
}

/**
 * A regression as JUnit XML: a fail is a failure; undecided and not measured are skipped with their message, since neither a pass nor a failure was shown.
 * Source: the JUnit XML report format as build servers read it (common practice).
 */
export function renderJunit({ suite, cases, properties = {} }: JunitSuite): string {
  const failures = cases.filter((c) => c.decision === "fail").length;
  const skipped = cases.filter((c) => c.decision === "undecided" || c.decision === "not measured").length;
  const counts = `tests="${cases.length}" failures="${failures}" errors="0" skipped="${skipped}"`;
  const named = Object.entries(properties);
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<testsuites name="codestair" ${counts}>`,
    `  <testsuite name="${xml(suite)}" ${counts} time="0">`,
    ...(named.length > 0
      ? [
          "    <properties>",
          ...named.map(([k, v]) => `      <property name="${xml(k)}" value="${xml(v)}"/>`),
          "    </properties>",
        ]
      : []),
    ...cases.map((c) => caseText(c, suite)),
    "  </testsuite>",
    "</testsuites>",
    "",
  ].join("\n");
}

function caseText(c: JunitCase, suite: string): string {
  const open = `    <testcase classname="${xml(suite)}" name="${xml(c.name)}" time="0"`;
  if (c.decision === "pass")
    return c.details === "" ? `${open}/>` : `${open}><system-out>${xml(c.details)}</system-out></testcase>`;
  if (c.decision === "fail")
    return `${open}><failure type="limit" message="${xml(c.message)}">${xml(c.details)}</failure></testcase>`;
  return `${open}><skipped message="${xml(`${c.decision}: ${c.message}`)}"/><system-out>${xml(c.details)}</system-out></testcase>`;
}

/** Text in XML 1.0, where most control characters may not stand at all, not even as references. */
function xml(text: string): string {
  return visible(text)
    .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, "\ufffd")
    .replace(/&/g, "&amp;")
    .replace(/</g, "&lt;")
    .replace(/>/g, "&gt;")
    .replace(/"/g, "&quot;")
    .replace(/\n/g, "&#10;")
    .replace(/\t/g, "&#9;");
}
