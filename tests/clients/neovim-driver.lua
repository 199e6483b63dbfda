-- What the tests ask of Neovim while it runs: `v:lua.drive('["function", arguments...]')`, answered as JSON. Only what
-- is on the screen or in the text is told; what a user does is done with keys (see neovim.ts).
local driver = {}

local function lines(buffer)
  return vim.api.nvim_buf_get_lines(buffer, 0, -1, false)
end

local function client()
  for _, one in pairs(vim.lsp.buf_get_clients(0)) do
    return one
  end
end

function driver.version()
  local version = vim.version()
  return ('%d.%d.%d'):format(version.major, version.minor, version.patch)
end

function driver.mode()
  return vim.api.nvim_get_mode().mode
end

function driver.edit(file)
  vim.cmd('edit ' .. vim.fn.fnameescape(file))
end

function driver.revert()
  vim.cmd('edit!')
end

function driver.save_all()
  vim.cmd('wall')
end

function driver.server()
  local one = client()
  if not one or not one.initialized then
    return vim.NIL
  end
  return { pid = one.rpc.pid, root = one.config.root_dir, language = vim.bo.filetype }
end

function driver.text()
  return table.concat(lines(0), '\n') .. '\n'
end

function driver.place()
  return { file = vim.api.nvim_buf_get_name(0), line = vim.api.nvim_get_current_line() }
end

local SEVERITIES = { 'error', 'warning', 'info', 'hint' }

function driver.findings()
  local found = {}
  for _, one in ipairs(vim.diagnostic.get(0)) do
    table.insert(found, {
      line = one.lnum + 1,
      marked = table.concat(vim.api.nvim_buf_get_text(0, one.lnum, one.col, one.end_lnum, one.end_col, {}), '\n'),
      severity = SEVERITIES[one.severity],
      message = one.message,
    })
  end
  return found
end

function driver.go(line_part, word)
  for number, line in ipairs(lines(0)) do
    local at = line:find(line_part, 1, true)
    if at then
      local column = line:find(word, at, true) or error('no ' .. word .. ' in ' .. line)
      vim.api.nvim_win_set_cursor(0, { number, column - 1 })
      return true
    end
  end
  error('no line with ' .. line_part)
end

local function floating()
  return vim.tbl_filter(function(window)
    return vim.api.nvim_win_get_config(window).relative ~= ''
  end, vim.api.nvim_list_wins())
end

function driver.popup()
  local said = {}
  for _, window in ipairs(floating()) do
    vim.list_extend(said, lines(vim.api.nvim_win_get_buf(window)))
  end
  return table.concat(said, '\n')
end

function driver.close_popups()
  for _, window in ipairs(floating()) do
    vim.api.nvim_win_close(window, true)
  end
end

function driver.menu()
  local info = vim.fn.complete_info({ 'pum_visible', 'items', 'selected' })
  local labels = {}
  for _, item in ipairs(info.items) do
    table.insert(labels, item.abbr ~= '' and item.abbr or item.word)
  end
  return { visible = info.pum_visible == 1, labels = labels, selected = info.selected }
end

function driver.lenses()
  local one = client()
  if not one then
    return {}
  end
  local spaces = vim.api.nvim_get_namespaces()
  local titles = {}
  local marks =
    vim.api.nvim_buf_get_extmarks(0, spaces['vim_lsp_codelens:' .. one.id] or -1, 0, -1, { details = true })
  for _, mark in ipairs(marks) do
    for _, chunk in ipairs(mark[4].virt_text or {}) do
      table.insert(titles, chunk[1])
    end
  end
  return titles
end

function driver.list()
  local listed = {}
  for _, item in ipairs(vim.fn.getqflist()) do
    table.insert(listed, vim.api.nvim_buf_get_name(item.bufnr) .. ': ' .. item.text)
  end
  return listed
end

function driver.colour(line_part, word)
  driver.go(line_part, word)
  local at = vim.api.nvim_win_get_cursor(0)
  return vim.fn.synIDattr(vim.fn.synID(at[1], at[2] + 1, 1), 'name'):lower()
end

function driver.messages()
  return vim.fn.execute('messages')
end

-- Takes the first of what is offered. Neovim's own list waits for a key and answers nothing meanwhile.
function vim.ui.select(items, _, choose)
  choose(items[1], 1)
end

function _G.drive(request)
  local asked = vim.fn.json_decode(request)
  local name = table.remove(asked, 1)
  local ok, answer = pcall(driver[name], unpack(asked))
  if answer == nil then
    answer = vim.NIL
  end
  return vim.fn.json_encode(ok and { answer = answer } or { failed = tostring(answer) })
end
