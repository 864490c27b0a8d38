/** "ADC1", "adc1" and "adc 1" name one channel: a stem and a number. */
function parts(channel: string): { stem: string; number: string } | null {
  const match = /^\s*([a-z_]*?)[\s_-]*(\d+)\s*$/i.exec(channel);
  return match === null ? null : { stem: match[1]!.toLowerCase(), number: match[2]! };
}

/**
 * Whether two captures' channel names are of different inputs. A log of one column often calls it "code", "value" or nothing, which says nothing about
 * the input; only names of one stem with different numbers do ("adc0", "adc1").
 */
export function channelsDiffer(a: string, b: string): boolean {
  const [one, other] = [parts(a), parts(b)];
  return one !== null && other !== null && one.stem === other.stem && Number(one.number) !== Number(other.number);
}
