import { describe, expect, it } from 'vitest';
import { drivers, findDriver, parseSettings } from '../../../drivers/registry.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { mayShareLine } from '../../../src/model/rig.ts';
import { streamDescriptorSchema } from '../../../src/model/stream.ts';

const thrownBy = (act: () => unknown): unknown => {
  try {
    act();
  } catch (error) {
    return error;
  }
  return undefined;
};

describe('driver registry', () => {
  it('finds every driver by kind and dialect', () => {
    for (const manifest of drivers) expect(findDriver(manifest.kind, manifest.dialect)).toBe(manifest);
  });

  it.each([
    ['photometer', 'smoke-signals', 'photometer text-lines'],
    ['ear-trumpet', 'text-lines', 'selector-valve command-lines'],
    ['', '', 'heart-rate measurement-hex'],
  ])('refuses kind "%s", dialect "%s" and names what there is', (kind, dialect, known) => {
    const error = thrownBy(() => findDriver(kind, dialect));
    expect(isChambersideError(error, 'driver-unknown')).toBe(true);
    expect(String(error)).toContain(known);
  });

  it('has dialects that share a line, by name and by what they say', () => {
    expect(drivers.some(({ sharesLine }) => sharesLine === true)).toBe(true);
    for (const { dialect, sharesLine } of drivers) expect(sharesLine ?? false, dialect).toBe(mayShareLine(dialect));
  });

  it('fills in defaults, and what comes out is accepted again', () => {
    for (const manifest of drivers) {
      const settings = parseSettings(manifest, 'any', {});
      expect(parseSettings(manifest, 'any', settings)).toEqual(settings);
      for (const stream of manifest.streams('any', settings))
        expect(streamDescriptorSchema.parse(stream)).toEqual(stream);
    }
  });

  it('names the instrument and every wrong field at once', () => {
    const photometer = findDriver('photometer', 'text-lines');
    const error = thrownBy(() =>
      parseSettings(photometer, 'front-photometer', { unit: 'stone', poll: { command: '' }, colour: 'red' }),
    );
    expect(isChambersideError(error, 'configuration-invalid')).toBe(true);
    for (const part of ['front-photometer', 'settings.unit', 'settings.poll.command', 'settings.colour']) {
      expect(String(error)).toContain(part);
    }
  });

  it.each([null, undefined, 5, 'text', []])('refuses %j for settings', (settings) => {
    for (const manifest of drivers) {
      expect(
        isChambersideError(
          thrownBy(() => parseSettings(manifest, 'any', settings)),
          'configuration-invalid',
        ),
      ).toBe(true);
    }
  });
});
