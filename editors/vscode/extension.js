// Starts the language server for circuit files.
'use strict';

const vscode = require('vscode');
const { LanguageClient } = require('vscode-languageclient/node');

let client;

exports.activate = async () => {
  const command = vscode.workspace.getConfiguration('halfsplit').get('server');
  client = new LanguageClient(
    'halfsplit',
    'Halfsplit',
    { command, args: ['lsp'] },
    { documentSelector: [{ language: 'halfsplit' }, { language: 'halfsplit-case' }] },
  );
  try {
    await client.start();
  } catch (error) {
    vscode.window.showErrorMessage(
      `Halfsplit: \`${command}\` does not start (${error.message ?? error}). Install it, or name the program ` +
        'in the setting halfsplit.server.',
    );
  }
};

exports.deactivate = () => client?.stop();
