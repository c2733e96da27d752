;;; check.el --- Opens a circuit as a user would -*- lexical-binding: t -*-

;;; Commentary:

;; Ends with 0 when everything is there, with an error when something is not.

;;; Code:

(package-initialize)
(require 'eglot)
(load (expand-file-name "editors/emacs/halfsplit-mode.el" (getenv "HALFSPLIT")))

(defun check-that (what value)
  "Print WHAT, and end with an error unless VALUE."
  (unless value (error "emacs: %s" what))
  (message "  %s" what)
  value)

(defun check-wait (what ready)
  "Wait until READY answers, and print WHAT."
  (let ((end (+ (float-time) 60)))
    (while (and (not (funcall ready)) (< (float-time) end))
      (accept-process-output nil 0.05))
    (check-that what (funcall ready))))

(defun check-behind (text)
  "Go to the place right behind TEXT."
  (goto-char (point-min))
  (search-forward text))

(setq eglot-sync-connect t
      eglot-confirm-server-initiated-edits nil
      make-backup-files nil)
(find-file (expand-file-name "tern/reference-a.circuit" (getenv "WORK")))
(check-that "the file is a circuit" (eq major-mode 'halfsplit-mode))
(call-interactively #'eglot)
(check-wait "the server is attached" #'eglot-current-server)

(goto-char (point-max))
(insert "wire W999  SP10  to X999:1  GY/RD  0.5 mm2  1 m  # 20 °C 🔧\n")
(eglot--signal-textDocument/didChange)
(check-wait "a slip shows as a diagnostic on its line"
            (lambda ()
              (flymake-start)
              (seq-some (lambda (found)
                          (and (string-match-p "X999" (flymake-diagnostic-text found))
                               (= (line-number-at-pos (flymake-diagnostic-beg found))
                                  (1- (line-number-at-pos (point-max))))))
                        (flymake-diagnostics))))
(forward-line -1)
(delete-region (point) (point-max))
(eglot--signal-textDocument/didChange)
(check-wait "a mended slip shows no more"
            (lambda () (flymake-start) (null (flymake-diagnostics))))

(check-behind "to X34:2")
(let* ((hover (jsonrpc-request (eglot-current-server) :textDocument/hover
                               (eglot--TextDocumentPositionParams)))
       (text (plist-get (plist-get hover :contents) :value)))
  (dolist (word '("X34:2" "GY/RD" "A10.X2:14" "X35:1" "4.99 V" "Feed"))
    (check-that (concat "the hover of X34:2 tells " word)
                (string-match-p (regexp-quote word) text))))

(check-behind "to SP10")
(call-interactively #'xref-find-definitions)
(check-that "the definition of SP10 is its line"
            (string-prefix-p "splice SP10" (buffer-substring (line-beginning-position)
                                                             (line-end-position))))

(check-behind "to X34:2")
(let* ((actions (eglot-code-actions (point)))
       (plan (seq-find (lambda (action)
                         (string-match-p "reads near zero" (plist-get action :title)))
                       actions))
       (command (plist-get plan :command)))
  (check-that "the plan is offered" command)
  ;; The server has the edit applied while the command runs. Emacs 28 cannot create files for a server, so the plan
  ;; comes as an edit of a new text.
  (cl-letf (((symbol-function 'y-or-n-p) (lambda (&rest _) t)))
    (let ((done nil))
      (jsonrpc-async-request (eglot-current-server) :workspace/executeCommand
                             (list :command (plist-get command :command)
                                   :arguments (plist-get command :arguments))
                             :success-fn (lambda (_) (setq done t))
                             :timeout 60)
      (check-wait "the order is carried out" (lambda () done)))))
(let ((plan (get-file-buffer (expand-file-name "tern/reference-a.X34-2.plan.md" (getenv "WORK")))))
  (check-that "the plan is a new text beside the circuit" plan)
  (with-current-buffer plan
    (check-that "the plan is written" (string-match-p "X35" (buffer-string)))
    (set-buffer-modified-p nil)))

(eglot-shutdown (eglot-current-server))
(check-wait "the server ends when told to" (lambda () (null (eglot-current-server))))
(message "emacs %s: all well" emacs-version)

;;; check.el ends here
