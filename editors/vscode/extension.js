// Starts the language server for circuit files.
'use strict';

const vscode = require('vscode');
const { LanguageClient } = require('vscode-languageclient/node');

let client;

exports.activate = () => {
  const command = vscode.workspace.getConfiguration('halfsplit').get('server');
  client = new LanguageClient(
    'halfsplit',
    'Halfsplit',
    { command, args: ['lsp'] },
    { documentSelector: [{ language: 'halfsplit' }, { language: 'halfsplit-case' }] },
  );
  return client.start();
};

exports.deactivate = () => client?.stop();
