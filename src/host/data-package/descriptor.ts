import { z } from 'zod';
import type { Field } from './tables.ts';

/** One file of a package. */
export interface Resource {
  /** With slashes, below the folder of the package. */
  readonly path: string;
  readonly title: string;
  readonly fields: readonly Field[];
  readonly bytes: number;
  /** SHA-256, hexadecimal. */
  readonly digest: string;
}

export interface PackageAbout {
  readonly study: { readonly study: string; readonly name: string; readonly createdAt: string };
  readonly program: string;
  /** ISO 8601 in UTC. */
  readonly createdAt: string;
  /** Any trial of the virtual rig in it. */
  readonly virtual: boolean;
}

/** Version of what stands under `chamberside`, and of the tables. */
const formatVersion = 1;

/**
 * The descriptor of a Tabular Data Package, version 1 of the Data Package standard: every file a table with a schema,
 * in UTF-8, with its size and digest. `unit` at a field and `chamberside` are additions that the standard allows.
 */
export function descriptorOf(about: PackageAbout, resources: readonly Resource[]): unknown {
  const virtual = about.virtual ? ' Trials of the virtual rig are in it: they are no results of a real ensemble.' : '';
  return {
    profile: 'tabular-data-package',
    name: `inward-leakage-${about.study.study}`,
    title: about.study.name,
    description:
      'Inward-leakage trials of protective clothing: readings, wire bytes and events as recorded, configuration as ' +
      `frozen, each trial's assessment that counts. Times are microseconds of the trial's own clock.${virtual}`,
    created: about.createdAt,
    resources: resources.map(({ path, title, fields, bytes, digest }) => ({
      profile: 'tabular-data-resource',
      name: path.replace(/\.csv$/, '').replaceAll('/', '-'),
      path,
      title,
      format: 'csv',
      mediatype: 'text/csv',
      encoding: 'utf-8',
      bytes,
      hash: `sha256:${digest}`,
      dialect: { delimiter: ',', lineTerminator: '\r\n', quoteChar: '"', doubleQuote: true, header: true },
      schema: {
        fields: fields.map(({ mayBeEmpty, ...field }) =>
          mayBeEmpty === true ? field : { ...field, constraints: { required: true } },
        ),
        missingValues: [''],
      },
    })),
    chamberside: { format: formatVersion, program: about.program, study: about.study },
  };
}

/** What has to be read of a descriptor to take a package in. Anything else in it is left alone. */
export const descriptorSchema = z.object({
  resources: z
    .array(
      z.object({
        path: z
          .string()
          .max(300)
          .regex(/^(?:[a-z0-9][a-z0-9.-]*\/)?[a-z0-9][a-z0-9.-]*\.csv$/, 'not a path that this program writes'),
        bytes: z.number().int().nonnegative(),
        hash: z.string().regex(/^sha256:[0-9a-f]{64}$/, 'not a SHA-256 digest'),
      }),
    )
    .min(1)
    .max(100_000),
  chamberside: z.object({
    format: z.literal(formatVersion),
    program: z.string().max(60),
    study: z.object({ study: z.string().max(40), name: z.string().max(200) }),
  }),
});
export type ReadDescriptor = z.infer<typeof descriptorSchema>;
