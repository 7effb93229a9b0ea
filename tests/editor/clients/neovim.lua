-- Drives the language server with the editor's own client, and writes what it saw as JSON.
-- Run as: nvim --headless --clean -S neovim.lua
-- DERATE_SERVER: the bundle. DERATE_NODE: the program that runs it. DERATE_FILE: the netlist. DERATE_OUT: where the answer goes.
local seen = {}
local ok, fault = pcall(function()
  local path = vim.env.DERATE_FILE
  vim.cmd("edit " .. vim.fn.fnameescape(path))
  local buffer = vim.api.nvim_get_current_buf()
  local id = vim.lsp.start_client({
    name = "derate",
    cmd = { vim.env.DERATE_NODE, vim.env.DERATE_SERVER, "--stdio" },
    root_dir = vim.fn.fnamemodify(path, ":h"),
  })
  assert(id, "the client did not start")
  vim.lsp.buf_attach_client(buffer, id)

  local function wait(what, condition)
    assert(vim.wait(20000, condition, 20), what .. ": not within 20 s")
  end
  local function messages()
    local found = {}
    for _, diagnostic in ipairs(vim.diagnostic.get(buffer)) do
      table.insert(found, {
        message = diagnostic.message,
        line = diagnostic.lnum + 1,
        severity = diagnostic.severity,
        code = diagnostic.user_data and diagnostic.user_data.lsp and diagnostic.user_data.lsp.code or diagnostic.code,
      })
    end
    return found
  end
  local function told(pattern)
    for _, diagnostic in ipairs(messages()) do
      if diagnostic.message:find(pattern, 1, true) then return true end
    end
    return false
  end
  local function cursorAt(pattern, into)
    for row, text in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
      local column = text:find(pattern, 1, true)
      if column then
        vim.api.nvim_win_set_cursor(0, { row, column - 1 + (into or 0) })
        return row
      end
    end
    error(pattern .. " is not in the file")
  end
  local function ask(method, more)
    local params = vim.tbl_extend("force", vim.lsp.util.make_position_params(), more or {})
    local answers = assert(vim.lsp.buf_request_sync(buffer, method, params, 20000), method .. " was not answered")
    return assert(answers[id], method .. " was not answered by the server")
  end

  -- Findings come by push: this client does not pull.
  wait("findings", function() return told("C20 sees") end)
  seen.diagnostics = messages()

  cursorAt("C20 32u", 1)
  seen.hover = ask("textDocument/hover").result.contents.value

  -- Through the editor's own command, so that it is the editor that applies the edits.
  cursorAt("-- HT1", 3)
  vim.lsp.buf.rename("B1")
  wait("the rename", function()
    for _, text in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, false)) do
      if text:find("%f[%w]HT1%f[%W]") then return false end
    end
    return true
  end)
  seen.renamed = table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, false), "\n") .. "\n"

  cursorAt("-- B1", 3)
  local refusal = ask("textDocument/rename", { newName = "HT2" })
  seen.refused = refusal.error and refusal.error.message

  -- An edit made here reaches the server, and the finding goes.
  local row = cursorAt("C20 32u 250V")
  local line = vim.api.nvim_buf_get_lines(buffer, row - 1, row, false)[1]
  vim.api.nvim_buf_set_lines(buffer, row - 1, row, false, { (line:gsub("250V", "450V")) })
  wait("the finding to go", function() return not told("C20 sees") end)
  seen.after = messages()
end)
if not ok then seen.fault = tostring(fault) end
local file = assert(io.open(vim.env.DERATE_OUT, "w"))
file:write(vim.fn.json_encode(seen))
file:close()
vim.cmd("qall!")
