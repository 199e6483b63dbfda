-- Task plans in Neovim 0.7 or later. On the PATH: legwise.
vim.api.nvim_create_autocmd({ 'BufRead', 'BufNewFile' }, {
  pattern = '*.taskplan',
  callback = function()
    vim.bo.filetype = 'taskplan'
  end,
})

-- The club's repository: one server for all of it, so that a rename reaches every plan.
local function club_folder()
  local own = vim.fn.expand('%:p:h')
  local folder = own
  while vim.fn.getftype(folder .. '/.git') == '' do
    local above = vim.fn.fnamemodify(folder, ':h')
    if above == folder then
      return own
    end
    folder = above
  end
  return folder
end

local function on_attach(_, buffer)
  local function key(keys, run)
    vim.keymap.set('n', keys, run, { buffer = buffer })
  end
  key('K', vim.lsp.buf.hover)
  key('gd', vim.lsp.buf.definition)
  key('grr', vim.lsp.buf.references)
  key('grn', vim.lsp.buf.rename)
  key('gra', vim.lsp.buf.code_action)
  key('<Space>f', vim.lsp.buf.format or vim.lsp.buf.formatting)
  vim.bo[buffer].omnifunc = 'v:lua.vim.lsp.omnifunc' -- in insert mode: Ctrl-X Ctrl-O
  vim.bo[buffer].commentstring = '# %s'
  vim.bo[buffer].expandtab = true
  vim.bo[buffer].shiftwidth = 2

  -- The glide budget of each leg, at the end of its line.
  vim.api.nvim_create_autocmd({ 'BufEnter', 'CursorHold', 'InsertLeave' }, {
    buffer = buffer,
    callback = vim.lsp.codelens.refresh,
  })

  -- From 0.9 on the server says what each word is; before, simple colours.
  if vim.fn.has('nvim-0.9') == 0 then
    vim.api.nvim_buf_call(buffer, function()
      vim.cmd([[
        syntax match Keyword /^\s*\zs[[:alpha:]-]\+/
        syntax match Number /\<\d[^[:space:]"#]*/
        syntax region String start=/"/ end=/"/ oneline
        syntax match Comment /#.*/
      ]])
    end)
  end
end

local servers = {}

vim.api.nvim_create_autocmd('FileType', {
  pattern = 'taskplan',
  callback = function(event)
    local folder = club_folder()
    local config = {
      name = 'legwise',
      cmd = { 'legwise', 'serve', '--stdio' },
      root_dir = folder,
      on_attach = on_attach,
    }
    if vim.lsp.start then -- 0.8 or later
      vim.lsp.start(config)
      return
    end
    config.on_exit = function()
      servers[folder] = nil
    end
    servers[folder] = servers[folder] or vim.lsp.start_client(config)
    vim.lsp.buf_attach_client(event.buf, servers[folder])
  end,
})
