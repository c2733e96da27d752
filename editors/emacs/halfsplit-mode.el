;;; halfsplit-mode.el --- Vehicle circuits -*- lexical-binding: t -*-

;; Package-Requires: ((emacs "28.1"))

;;; Commentary:

;; A mode for circuit files, and the language server that eglot starts for it.

;;; Code:

(defvar halfsplit-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?\" "\"" table)
    (modify-syntax-entry ?. "_" table)
    (modify-syntax-entry ?: "_" table)
    table))

(defconst halfsplit-mode-font-lock
  (let ((colour "\\(?:BK\\|BN\\|RD\\|OG\\|YE\\|GN\\|BU\\|VT\\|GY\\|WH\\|PK\\|TQ\\|GD\\|SR\\|GNYE\\)"))
    `(("^[ \t]*\\([a-z][a-z-]*\\)\\_>" 1 font-lock-keyword-face)
      ("\\_<\\(?:to\\|on\\|as\\|at\\|when\\|not\\|and\\|because\\|key\\|holds\\|lacks\\|reads\\)\\_>" . font-lock-keyword-face)
      (,(concat "\\_<" colour "\\(?:/" colour "\\)?\\_>") . font-lock-constant-face)
      ("\\_<unknown\\_>" . font-lock-warning-face)))
  "The word that opens a line, the words between, and wire colours.")

;;;###autoload
(define-derived-mode halfsplit-mode prog-mode "Circuit"
  "Edits a vehicle circuit."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+ *")
  (setq-local indent-tabs-mode nil)
  (setq-local font-lock-defaults '(halfsplit-mode-font-lock)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.\\(?:circuit\\|case\\)\\'" . halfsplit-mode))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(halfsplit-mode . ("halfsplit" "lsp"))))

(provide 'halfsplit-mode)
;;; halfsplit-mode.el ends here
