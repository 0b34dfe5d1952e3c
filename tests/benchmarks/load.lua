-- For wrk: how many answers had each status, how many bytes came, and the times.  Arguments: headers as NAME=VALUE.
local threads = {}

function setup(thread) table.insert(threads, thread) end

function init(args)
  ok, unchanged, other = 0, 0, 0
  for _, arg in ipairs(args) do
    local name, value = arg:match("^([^=]+)=(.*)$")
    if name then wrk.headers[name] = value end
  end
end

function response(status)
  if status == 200 then ok = ok + 1 elseif status == 304 then unchanged = unchanged + 1 else other = other + 1 end
end

function done(summary, latency)
  local e, t = summary.errors, threads[1]
  print(string.format(
    'RESULT {"ok": %d, "unchanged": %d, "other": %d, "errors": %d, "bytes": %d, "s": %f, "p50_ms": %f, "p99_ms": %f}',
    t:get("ok"), t:get("unchanged"), t:get("other"), e.connect + e.read + e.write + e.status + e.timeout,
    summary.bytes, summary.duration / 1e6, latency:percentile(50) / 1e3, latency:percentile(99) / 1e3))
end
