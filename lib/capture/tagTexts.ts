/** The few short words of a text column that may name channels: each comes again and again, and looks like a channel's name. */
export function tagTexts(fields: readonly string[]): readonly string[] | undefined {
  const texts = new Set(fields);
  if (texts.size < 2 || texts.size > 32 || texts.size * 2 > fields.length) return undefined;
  const words = [...texts];
  return words.every(
    (t) => t.length > 0 && t.length <= 16 && /[\p{L}]/u.test(t) && /\d$|^adc|^ch|^ain|^temp|^vref|^vbat/i.test(t),
  )
    ? words
    : undefined;
}
