import { ChambersideError } from '../../model/error-code.ts';
import { publishedRequirements } from '../../study/published-requirements.ts';
import { parseRequirement, type Requirement } from '../../study/requirement.ts';
import { readGivenJson } from './given-json.ts';

/** One of the requirements that ship, by name. @throws ChambersideError `usage-bad-value`. */
export function requirementNamed(name: string): Requirement {
  const found = publishedRequirements.find((requirement) => requirement.name === name);
  if (found !== undefined) return found;
  throw new ChambersideError(
    'usage-bad-value',
    `no requirement has the name ${JSON.stringify(name)}`,
    '--requirement',
    `Give one of ${publishedRequirements.map((requirement) => requirement.name).join(', ')}, or your own by --file.`,
  );
}

/** A requirement of somebody's own. @throws ChambersideError `file-not-found`, `configuration-invalid`. */
export function requirementFile(file: string): Requirement {
  return parseRequirement(readGivenJson(file, 'requirement'), file);
}
