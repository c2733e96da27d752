//! Diagnostics that the client asks for.

use std::collections::HashMap;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};
use std::path::PathBuf;

use halfsplit_base::{FileId, disk};
use tower_lsp::lsp_types::{
    Diagnostic, DocumentDiagnosticReport, DocumentDiagnosticReportKind, FullDocumentDiagnosticReport,
    RelatedFullDocumentDiagnosticReport, RelatedUnchangedDocumentDiagnosticReport,
    UnchangedDocumentDiagnosticReport, Url, WorkspaceDocumentDiagnosticReport,
    WorkspaceFullDocumentDiagnosticReport, WorkspaceUnchangedDocumentDiagnosticReport,
};

use crate::convert;
use crate::queue::Wanted;
use crate::snapshot::Snapshot;

/// Names what a file shows: the same name, the same findings at the same places.
fn result_id(diagnostics: &[Diagnostic]) -> String {
    let mut hasher = DefaultHasher::new();
    serde_json::to_string(diagnostics).unwrap_or_default().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}

/// What one open file shows, and what its circuit shows in files that nobody has open.
pub(crate) fn document(
    snapshot: &Snapshot,
    file: FileId,
    previous: Option<&str>,
) -> DocumentDiagnosticReport {
    let mut own = Vec::new();
    let mut others: HashMap<FileId, Vec<Diagnostic>> = HashMap::new();
    for (place, diagnostic) in convert::diagnostics(snapshot, file) {
        match place == file {
            true => own.push(diagnostic),
            false if snapshot.documents.contains_key(&place) => {}
            false => others.entry(place).or_default().push(diagnostic),
        }
    }
    let id = result_id(&own);
    let related: HashMap<Url, DocumentDiagnosticReportKind> = others
        .into_iter()
        .filter_map(|(place, items)| {
            let full = FullDocumentDiagnosticReport { result_id: None, items };
            Some((snapshot.uri(place)?, DocumentDiagnosticReportKind::Full(full)))
        })
        .collect();
    let related_documents =
        Some(related).filter(|related| !related.is_empty() && snapshot.profile.related_reports);
    if previous == Some(&id) {
        return DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
            related_documents,
            unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport { result_id: id },
        });
    }
    DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
        related_documents,
        full_document_diagnostic_report: FullDocumentDiagnosticReport { result_id: Some(id), items: own },
    })
}

/// Files checked before what was found is handed on.
const BATCH: usize = 50;

/// What every file of the workspace shows: open ones as they are, the others as they lie on the disk. `part` is
/// given a few files at a time; stops soon after the client has cancelled.
pub(crate) fn workspace(
    snapshot: &Snapshot,
    known: &HashMap<Url, String>,
    wanted: &Wanted,
    part: &mut dyn FnMut(Vec<WorkspaceDocumentDiagnosticReport>),
) {
    let mut batch = Vec::new();
    for (&file, document) in snapshot.documents.iter() {
        if !wanted.still() {
            return;
        }
        let shown = convert::diagnostics(snapshot, file).into_iter().filter(|(place, _)| *place == file);
        let shown = shown.map(|(_, diagnostic)| diagnostic).collect();
        batch.push(report(document.uri.clone(), Some(i64::from(document.version)), shown, known));
    }
    part(std::mem::take(&mut batch));
    let closed = snapshot.analysis.index().iter().map(|(path, _)| path.to_path_buf());
    let is_open = |path: &PathBuf| {
        snapshot.analysis.files().id(path).is_some_and(|file| snapshot.documents.contains_key(&file))
    };
    for path in closed.filter(|path| !is_open(path)) {
        if !wanted.still() {
            return;
        }
        let root = disk::library_root(&path);
        let analysis = snapshot.analysis.widened(&[(path.clone(), root)], &mut disk::read_in);
        let (Some(file), Some(uri)) = (analysis.files().id(&path), crate::uri::uri(&path)) else { continue };
        let alone = Snapshot { analysis, ..snapshot.clone() };
        let shown = convert::diagnostics(&alone, file).into_iter().filter(|(place, _)| *place == file);
        batch.push(report(uri, None, shown.map(|(_, diagnostic)| diagnostic).collect(), known));
        if batch.len() >= BATCH {
            part(std::mem::take(&mut batch));
        }
    }
    part(batch);
}

fn report(
    uri: Url,
    version: Option<i64>,
    items: Vec<Diagnostic>,
    known: &HashMap<Url, String>,
) -> WorkspaceDocumentDiagnosticReport {
    let result_id = result_id(&items);
    if known.get(&uri) == Some(&result_id) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
        return WorkspaceDocumentDiagnosticReport::Unchanged(WorkspaceUnchangedDocumentDiagnosticReport {
            uri,
            version,
            unchanged_document_diagnostic_report,
        });
    }
    let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id: Some(result_id), items };
    WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
        uri,
        version,
        full_document_diagnostic_report,
    })
}
