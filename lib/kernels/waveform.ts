/** A pass of a sine, or of a straight line, as a function of position: 0 at its lowest input, 1 at its highest, evenly in time. Inputs in LSB. */
export class Waveform {
  sine: bool = false;
  lowest: f64 = 0;
  highest: f64 = 0;
}

/** Input at a position. Source: IEEE Std 1241-2010, sine histogram. */
export function waveformAt(sine: bool, lowest: f64, highest: f64, position: f64): f64 {
  return sine
    ? (lowest + highest) / 2 - ((highest - lowest) / 2) * Math.cos(Math.PI * position)
    : lowest + (highest - lowest) * position;
}

/** d input / d position. */
export function waveformSlope(sine: bool, lowest: f64, highest: f64, position: f64): f64 {
  return sine
    ? Math.PI * ((highest - lowest) / 2) * Math.sin(Math.PI * min<f64>(1, max<f64>(0, position)))
    : highest - lowest;
}

/** Share of time that the input lies below x. */
export function waveformBelow(sine: bool, lowest: f64, highest: f64, x: f64): f64 {
  return sine
    ? Math.acos(min<f64>(1, max<f64>(-1, ((lowest + highest) / 2 - x) / ((highest - lowest) / 2)))) / Math.PI
    : min<f64>(1, max<f64>(0, (x - lowest) / (highest - lowest)));
}

export function inputAt(w: Waveform, position: f64): f64 {
  return waveformAt(w.sine, w.lowest, w.highest, position);
}

export function slopeAt(w: Waveform, position: f64): f64 {
  return waveformSlope(w.sine, w.lowest, w.highest, position);
}

export function shareBelow(w: Waveform, x: f64): f64 {
  return waveformBelow(w.sine, w.lowest, w.highest, x);
}
