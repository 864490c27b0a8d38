import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { html, jsonForScript, trusted, visible } from "../../reports/html.ts";

describe("html", () => {
  it("escapes text, joins lists, leaves out what is missing", () => {
    expect(html`<p title="${'"'}">${"a < b & c"}${null}${false}${["x", html`<b>y</b>`]}</p>`.text).toBe(
      '<p title="&quot;">a &lt; b &amp; c' + "x<b>y</b></p>",
    );
  });

  it("lets no text open a tag, end an attribute or start an entity", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 60 }), (text) => {
        const made = html`${text}`.text;
        expect(made).not.toMatch(/[<>"']/);
        expect(made.replace(/&(amp|lt|gt|quot|#39);/g, "")).not.toContain("&");
      }),
    );
  });

  it("keeps our own markup", () => expect(html`${trusted("<svg/>")}`.text).toBe("<svg/>"));
});

describe("visible", () => {
  it("shows control codes and direction marks by their code point", () => {
    expect(visible("a\u001b[31mb\u202ec")).toBe("a⟨U+001B⟩[31mb⟨U+202E⟩c");
  });
  it("leaves tabs, line ends and every script alone", () => expect(visible("Ω µ 漢\t\n")).toBe("Ω µ 漢\t\n"));
});

describe("jsonForScript", () => {
  it("cannot end its script element, and reads back as what it was", () => {
    fc.assert(
      fc.property(fc.array(fc.oneof(fc.string(), fc.constant("</script><!--\u2028"))), (value) => {
        const made = jsonForScript(JSON.stringify(value)).text;
        expect(made).not.toContain("<");
        expect(JSON.parse(made)).toEqual(value);
      }),
    );
  });
});
