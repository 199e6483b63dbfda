;; What the tests ask of Emacs while it runs: (drive "[\"function\", arguments...]"), answered as JSON.  Only what is on
;; the screen or in the text is told; what a user does is done with keys (see emacs.ts).  -*- lexical-binding: t -*-
(require 'cl-lib)
(require 'server)

(defun drive--buffer () (window-buffer (selected-window)))

(defun drive-version () (format "%s" emacs-version))

(defun drive-prompt ()
  (if (active-minibuffer-window)
      (with-current-buffer (window-buffer (active-minibuffer-window)) (or (minibuffer-prompt) ""))
    ""))

(defun drive-revert ()
  (revert-buffer t t t)
  t)

(defun drive-save-all ()
  (save-some-buffers t)
  t)

(defun drive-server ()
  (let ((server (and (fboundp 'eglot-current-server) (eglot-current-server))))
    (if (and server eglot--managed-mode)
        (list :pid (process-id (jsonrpc--process server))
              :root (directory-file-name (expand-file-name (project-root (eglot--project server))))
              :language (eglot--language-id server))
      :null)))

(defun drive-text () (buffer-substring-no-properties (point-min) (point-max)))

(defun drive-place ()
  (list :file (or buffer-file-name "")
        :line (buffer-substring-no-properties (line-beginning-position) (line-end-position))))

(defun drive-findings ()
  (vconcat
   (mapcar (lambda (one)
             (list :line (line-number-at-pos (flymake-diagnostic-beg one))
                   :marked (buffer-substring-no-properties (flymake-diagnostic-beg one) (flymake-diagnostic-end one))
                   :severity (pcase (flymake-diagnostic-type one)
                               ('eglot-error "error")
                               ('eglot-warning "warning")
                               (_ "info"))
                   :message (flymake-diagnostic-text one)))
           (and (bound-and-true-p flymake-mode) (flymake-diagnostics)))))

(defun drive-go (line-part word)
  (goto-char (point-min))
  (search-forward line-part)
  (goto-char (match-beginning 0))
  (search-forward word (line-end-position))
  (goto-char (match-beginning 0))
  (set-window-point (selected-window) (point))
  t)

(defun drive-go-end (line-part)
  (goto-char (point-min))
  (search-forward line-part)
  (end-of-line)
  (set-window-point (selected-window) (point))
  t)

(defun drive--eldoc ()
  (cl-find-if (lambda (buffer) (string-match-p "\\`[ ]?\\*eldoc" (buffer-name buffer))) (buffer-list)))

(defun drive-has-hover () (if (and (drive--eldoc) (> (buffer-size (drive--eldoc)) 0)) t :false))

(defun drive-popup ()
  (let ((buffer (drive--eldoc)))
    (if (and buffer (get-buffer-window buffer)) (with-current-buffer buffer (drive-text)) "")))

(defun drive-close-popups ()
  (let ((buffer (drive--eldoc)))
    (when buffer
      (delete-windows-on buffer)
      (with-current-buffer buffer (let ((inhibit-read-only t)) (erase-buffer)))))
  t)

(defun drive--completions (visit)
  "Call VISIT with each choice of the list of completions and where it begins; return what it returned, in order."
  (let ((window (get-buffer-window "*Completions*")) found)
    (when window
      (with-current-buffer (window-buffer window)
        (save-excursion
          (let ((at (point-min)))
            (while (setq at (text-property-not-all at (point-max) 'completion--string nil))
              (push (funcall visit (format "%s" (let ((choice (get-text-property at 'completion--string)))
                                                  (if (consp choice) (car choice) choice)))
                             at)
                    found)
              (setq at (or (next-single-property-change at 'completion--string) (point-max))))))))
    (nreverse found)))

(defun drive-menu () (vconcat (drive--completions (lambda (label _at) (substring-no-properties label)))))

(defun drive-choose (label)
  "Put the cursor on LABEL in the list of completions, for the RET that takes it."
  (let ((at (cl-find-if #'identity (drive--completions (lambda (choice at) (and (string= choice label) at))))))
    (unless at (error "Nothing offered is called %s" label))
    (select-window (get-buffer-window "*Completions*"))
    (goto-char at)
    (set-window-point (selected-window) at)
    t))

(defun drive-list ()
  (let ((buffer (get-buffer "*xref*")))
    (if buffer (with-current-buffer buffer (drive-text)) "")))

(defun drive-colour (line-part word)
  (drive-go line-part word)
  (font-lock-ensure)
  (replace-regexp-in-string "\\`font-lock-\\|-face\\'" "" (format "%s" (get-text-property (point) 'face))))

(defun drive-messages ()
  (with-current-buffer (messages-buffer) (drive-text)))

(defun drive (request)
  (json-serialize
   (condition-case failure
       (with-current-buffer (drive--buffer)
         (let ((asked (append (json-parse-string request) nil)))
           (list :answer (apply (intern (concat "drive-" (car asked))) (cdr asked)))))
     (error (list :failed (error-message-string failure))))))

(setq server-socket-dir (getenv "EDITOR_SOCKET_FOLDER")
      server-name "emacs")
(server-start)
