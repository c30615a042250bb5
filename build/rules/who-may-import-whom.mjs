import { isBuiltin } from 'node:module';
import { dirname, relative, resolve, sep } from 'node:path';
import { layerOf } from './layers.mjs';

/**
 * @param {string} specifier `zod`, `@scope/name/deep/path`, …
 * @returns {string} the package's name without a path inside it
 */
function packageName(specifier) {
  return specifier.split('/').slice(0, specifier.startsWith('@') ? 2 : 1).join('/');
}

/**
 * Lint rule: an import must be one that the table in `layers.mjs` gives to the importing file's layer. Sees type
 * imports, re-exports, `import()` and `import('…')` types; what an import reaches through other files is the
 * dependency check's part.
 * @type {import('eslint').Rule.RuleModule}
 */
export const whoMayImportWhom = {
  meta: {
    type: 'problem',
    schema: [],
    messages: {
      folder: '{{layer}} may not import {{target}}. Who may import whom stands in build/rules/layers.mjs.',
      package: '{{layer}} may not import the package {{target}}. Its packages stand in build/rules/layers.mjs.',
      node: '{{layer}} may not import {{target}}: no Node here. Have what you need passed in.',
      computed: '{{layer}} may not import a computed path: nothing can check where it leads.',
    },
  },
  create(context) {
    /** @typedef {Extract<import('eslint').Rule.ReportDescriptor, { node: unknown }>['node']} AnyNode */
    /** @typedef {AnyNode & { value?: unknown }} Node */
    const file = relative(context.cwd, context.filename).split(sep).join('/');
    const layer = layerOf(file);
    if (layer === undefined) return {};

    /** @param {Node | null | undefined} source */
    const check = (source) => {
      if (source === null || source === undefined) return;
      if (source.type !== 'Literal' || typeof source.value !== 'string') {
        context.report({ node: source, messageId: 'computed', data: { layer: layer.name } });
        return;
      }
      const specifier = source.value;
      if (specifier.startsWith('.') || specifier.startsWith('/')) {
        const target = relative(context.cwd, resolve(dirname(context.filename), specifier)).split(sep).join('/');
        if (layer.imports.some((path) => new RegExp(path).test(target))) return;
        context.report({ node: source, messageId: 'folder', data: { layer: layer.name, target } });
      } else if (isBuiltin(specifier)) {
        if (layer.node) return;
        context.report({ node: source, messageId: 'node', data: { layer: layer.name, target: specifier } });
      } else if (!layer.packages.includes(packageName(specifier))) {
        context.report({ node: source, messageId: 'package', data: { layer: layer.name, target: specifier } });
      }
    };

    return {
      ImportDeclaration: (node) => check(node.source),
      ExportAllDeclaration: (node) => check(node.source),
      ExportNamedDeclaration: (node) => check(node.source),
      ImportExpression: (node) => check(node.source),
      /** @param {{ source: Node }} node */
      TSImportType: (node) => check(node.source),
    };
  },
};
