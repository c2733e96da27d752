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

;;;###autoload
(define-derived-mode halfsplit-mode prog-mode "Circuit"
  "Edits a vehicle circuit."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+ *")
  (setq-local indent-tabs-mode nil))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.\\(?:circuit\\|case\\)\\'" . halfsplit-mode))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(halfsplit-mode . ("halfsplit" "lsp"))))

(provide 'halfsplit-mode)
;;; halfsplit-mode.el ends here
