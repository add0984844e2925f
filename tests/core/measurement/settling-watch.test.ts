import { type GaugeReading, type SettlingLights, settlingWatch } from '@strandwise/core';
import { describe, expect, it } from 'vitest';
import { autoregressive, normalSource } from './noise.ts';

const flow = (Math.PI / 4) * 1.75 ** 2 * 15; // mm³/s at 1.75 mm and 15 mm/s
const reading = (seconds: number, more: Partial<GaugeReading> = {}): GaugeReading => ({
  seconds,
  diameterMm: 1.75,
  pullerMmPerSecond: 15,
  ...more,
});

describe('settlingWatch', () => {
  it('turns zones on after 120 s within tolerance and says how long ago', () => {
    const watch = settlingWatch({ screwRpm: 5, holdUpCm3: 27.6, setPointsCelsius: [180, 200] });
    const at = (seconds: number, zones: number[]) =>
      watch.push(reading(seconds, { zonesCelsius: zones })).zones;
    expect(at(0, [180, 190])).toEqual({
      isOn: false,
      says: 'zone 2 is 10.0 °C below its set point',
    });
    expect(at(60, [180.2, 199.5])).toMatchObject({ isOn: false, remainingSeconds: 120 });
    expect(at(100, [180, 201.2]).isOn).toBe(false);
    expect(at(160, [180, 200.4]).isOn).toBe(false);
    expect(at(280, [180, 200.4]).isOn).toBe(true);
    // A heater swing past the tolerance does not turn it off; a change does.
    expect(at(290, [180, 201.5]).isOn).toBe(true);
    expect(at(400, [180, 200])).toEqual({ isOn: true, says: 'zones ready 4 min ago' });
    expect(at(410, [180, 203]).isOn).toBe(false);
  });

  it('falls back on a prediction, and says when it has neither', () => {
    const predicted = settlingWatch({ screwRpm: 5, holdUpCm3: 27.6, zonesReadyAtSeconds: 300 });
    expect(predicted.push(reading(0)).zones).toMatchObject({ isOn: false, remainingSeconds: 300 });
    expect(predicted.push(reading(301)).zones.isOn).toBe(true);
    const neither = settlingWatch({ screwRpm: 5, holdUpCm3: 27.6 });
    expect(neither.push(reading(0)).zones).toEqual({
      isOn: false,
      says: 'zones: no temperatures are logged and none are predicted',
    });
  });

  it('counts barrel volumes since the zones are ready: 27.6 cm³ at 36.1 mm³/s takes 765 s', () => {
    const watch = settlingWatch({
      screwRpm: 5,
      holdUpCm3: 27.6,
      barrelVolumes: 1,
      zonesReadyAtSeconds: 100,
    });
    let onAt = -1;
    for (let t = 0; t < 1200; t++) {
      const { flush } = watch.push(reading(t));
      if (flush.isOn && onAt < 0) onAt = t;
    }
    expect(onAt).toBe(100 + Math.ceil((27.6 * 1000) / flow));
  });

  it('starts the flush again when a zone is lost', () => {
    const watch = settlingWatch({ screwRpm: 5, holdUpCm3: 5, setPointsCelsius: [200] });
    let lights: SettlingLights | undefined;
    const run = (from: number, to: number, zone: number): void => {
      for (let t = from; t < to; t++) lights = watch.push(reading(t, { zonesCelsius: [zone] }));
    };
    run(0, 300, 200);
    expect(lights!.flush.isOn).toBe(true);
    run(300, 301, 210);
    expect(lights!.flush).toMatchObject({ isOn: false });
    run(301, 400, 200);
    expect(lights!.flush.isOn).toBe(false);
  });

  it('says that nothing comes out when the puller stands', () => {
    const watch = settlingWatch({ screwRpm: 5, holdUpCm3: 5, zonesReadyAtSeconds: 0 });
    watch.push(reading(0, { pullerMmPerSecond: 0 }));
    expect(watch.push(reading(1, { pullerMmPerSecond: 0 })).flush.says).toBe(
      '0.0 of 1.0 barrel volumes; nothing is coming out',
    );
  });

  it('throws out_of_domain without a hold-up', () => {
    expect(() => settlingWatch({ screwRpm: 5, holdUpCm3: 0 })).toThrowErrorMatchingInlineSnapshot(
      `[DomainError: flushLight: the hold-up must exceed 0 cm³; got 0. Take it from the line's description.]`,
    );
  });

  const strandShare = (
    n: number,
    from: number,
    diameter: (i: number, noise: number) => number,
  ): number => {
    let on = 0;
    let count = 0;
    for (let r = 0; r < 30; r++) {
      const watch = settlingWatch({ screwRpm: 5, holdUpCm3: 27.6 });
      const noise = autoregressive(n, 0.8, normalSource(r));
      for (let i = 0; i < n; i++) {
        const { strand } = watch.push(reading(i, { diameterMm: diameter(i, noise[i]!) }));
        if (i < from) continue;
        count++;
        if (strand.isOn) on++;
      }
    }
    return on / count;
  };

  it('has the strand light on most of the time on a still strand with a screw surge', () => {
    const share = strandShare(
      1500,
      400,
      (i, e) => 1.75 + 0.01 * e + 0.008 * Math.sin((2 * Math.PI * i) / 12),
    );
    expect(share).toBeGreaterThan(0.75);
  });

  it('keeps the strand light off on a drift of 3 µm a minute', () => {
    expect(strandShare(1200, 600, (i, e) => 1.75 + 0.01 * e + 0.003 * (i / 60))).toBeLessThan(0.02);
  });

  it('needs fifteen screw turns before it says anything', () => {
    const watch = settlingWatch({ screwRpm: 2, holdUpCm3: 27.6 });
    const lights = watch.push(reading(0));
    expect(lights.strand.says).toBe('strand watched for 0 of 15 screw turns, about 8 min more');
    expect(lights.isSettled).toBe(false);
  });
});
