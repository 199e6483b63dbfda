;; Task plans in Emacs: eglot is part of Emacs 29 and a package before.  On the PATH: legwise.
(defvar taskplan-font-lock-keywords
  '(("^[ \t]*\\([[:alpha:]-]+\\)" 1 font-lock-keyword-face)
    ("\\_<[0-9][^][ \t\n\"#]*" . font-lock-constant-face)))

(define-derived-mode taskplan-mode prog-mode "Task plan"
  "Major mode for task plans."
  :syntax-table (let ((table (make-syntax-table)))
                  (modify-syntax-entry ?# "<" table)
                  (modify-syntax-entry ?\n ">" table)
                  (modify-syntax-entry ?\" "\"" table)
                  (modify-syntax-entry ?' "." table)
                  table)
  (setq-local comment-start "# "
              comment-start-skip "#+[ \t]*"
              indent-tabs-mode nil
              tab-width 2
              font-lock-defaults '(taskplan-font-lock-keywords)))

(add-to-list 'auto-mode-alist '("\\.taskplan\\'" . taskplan-mode))

(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs
               '(taskplan-mode . ("legwise" "serve" "--stdio"))))

(add-hook 'taskplan-mode-hook #'eglot-ensure)
