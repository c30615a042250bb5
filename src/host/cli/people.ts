import { existsSync } from 'node:fs';
import { ChambersideError } from '../../model/error-code.ts';
import { codeSchema, pinSchema } from '../../model/identity.ts';
import {
  openLaboratory,
  personSchema,
  roleSchema,
  type Laboratory,
  type Person,
  type Role,
} from '../store/laboratory.ts';
import { codeWords, type Command, type OptionValues, type Output } from './command.ts';
import { formatTable } from './table.ts';

/** Asks for a PIN where nobody can read it over a shoulder or in a list of processes. `prompt`: for a person. */
export type AskPin = (prompt: string) => Promise<string>;

/** What one call does; without any of these it lists. */
const actions = ['add', 'set-pin', 'retire'] as const;

export function peopleCommand(askPin: AskPin): Command {
  return {
    name: 'people',
    summary: 'list, add and retire the people of a laboratory, and set their PINs',
    options: [
      { name: 'laboratory', value: 'FILE', help: 'laboratory file', required: true },
      { name: 'add', value: 'CODE', help: `register somebody, ${codeWords.expected}; makes a missing file` },
      { name: 'name', value: 'NAME', help: 'with --add: the name, default the code' },
      { name: 'roles', value: 'LIST', help: `with --add: ${roleSchema.options.join(', ')}, separated by commas` },
      { name: 'set-pin', value: 'CODE', help: 'give somebody another PIN' },
      { name: 'retire', value: 'CODE', help: 'nobody acts under this code any more; it stays in every record' },
    ],
    notes: [
      'Without --add, --set-pin or --retire it lists everybody.',
      'The PIN, 4 to 12 digits, is asked for on the terminal, or is the first line of standard input when that is a',
      'pipe. It is never an option, because others can read those. Setting it does not ask for the old one.',
      'Exit status 0: done. 1: the code is taken or unknown. 2: wrong usage.',
    ],
    async run(values, output) {
      const [action, second] = actions.filter((name) => values.has(name));
      if (second !== undefined) throw refused(`--${action} and --${second} are two things`, 'Do one after the other.');
      if (action !== 'add' && (values.has('name') || values.has('roles'))) {
        throw refused('--name and --roles belong to --add', 'Leave them out, or add --add CODE.');
      }
      const path = values.text('laboratory');
      if (action === 'add') {
        const person = await register(path, newPerson(values), askPin);
        say(person, `Registered ${person.code} as ${person.roles.join(', ')}.`, values.json, output);
        return 0;
      }
      const laboratory = openLaboratory(path);
      try {
        if (action === undefined) list(laboratory.listPeople(), values.json, output);
        else await change(laboratory, action, values.text(action), askPin, output, values.json);
        return 0;
      } finally {
        laboratory.close();
      }
    },
  };
}

type NewPerson = Omit<Parameters<Laboratory['addPerson']>[0], 'pin'>;

/** A laboratory file that is not there is made only when everything else is right. */
async function register(path: string, entry: NewPerson, askPin: AskPin): Promise<Person> {
  let laboratory = existsSync(path) ? openLaboratory(path) : null;
  try {
    laboratory?.refuseTaken(entry.code);
    const pin = await pinOf(entry.code, askPin);
    laboratory ??= openLaboratory(path, { create: true });
    return await laboratory.addPerson({ ...entry, pin });
  } finally {
    laboratory?.close();
  }
}

function newPerson(values: OptionValues): NewPerson {
  const code = values.fitting('add', { schema: codeSchema, ...codeWords, otherwise: values.text('add') });
  const name = personSchema.shape.name.safeParse(values.optional('name') ?? code);
  if (!name.success) throw new ChambersideError('usage-bad-value', 'the name is too long', '--name', 'Shorten it.');
  return { code, name: name.data, roles: rolesOf(values) };
}

async function change(
  laboratory: Laboratory,
  action: 'set-pin' | 'retire',
  code: string,
  askPin: AskPin,
  output: Output,
  json: boolean,
): Promise<void> {
  const person = laboratory.activePerson(code);
  if (action === 'retire') {
    laboratory.deactivatePerson(code);
    say({ ...person, active: false }, `Retired ${code}. What was recorded under this code stays.`, json, output);
  } else {
    say(await laboratory.setPin(code, await pinOf(code, askPin)), `The PIN of ${code} is set.`, json, output);
  }
}

function list(people: readonly Person[], json: boolean, output: Output): void {
  if (json) {
    output.line(JSON.stringify({ people }));
    return;
  }
  if (people.length === 0) {
    output.line('Nobody is registered. Register the first with --add.');
    return;
  }
  const columns = ['code', 'name', 'roles', 'state', 'since'].map((heading) => ({ heading, align: 'left' as const }));
  const rows = people.map(({ code, name, roles, active, createdAt }) => [
    code,
    name,
    roles.join(', '),
    active ? 'active' : 'retired',
    createdAt.slice(0, 10),
  ]);
  output.line(formatTable(columns, rows));
}

function say(person: Person, text: string, json: boolean, output: Output): void {
  output.line(json ? JSON.stringify({ person }) : text);
}

async function pinOf(code: string, askPin: AskPin): Promise<string> {
  const pin = await askPin(`PIN for ${code}, 4 to 12 digits`);
  // Never part of a message: what was typed may be nearly the PIN.
  if (pinSchema.safeParse(pin).success) return pin;
  throw new ChambersideError('usage-bad-value', 'the PIN is not 4 to 12 digits', 'PIN', 'Run it again.');
}

function rolesOf(values: OptionValues): Role[] {
  return values
    .text('roles')
    .split(',')
    .map((word) => {
      const role = roleSchema.safeParse(word.trim());
      if (role.success) return role.data;
      const expected = `one or more of ${roleSchema.options.join(', ')}, separated by commas`;
      throw new ChambersideError(
        'usage-bad-value',
        `${JSON.stringify(word.trim())} is no role`,
        '--roles',
        `Give ${expected}.`,
      );
    });
}

function refused(what: string, remedy: string): ChambersideError {
  return new ChambersideError('usage-unknown-option', what, 'chamberside people', remedy);
}
