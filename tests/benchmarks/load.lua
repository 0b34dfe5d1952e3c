-- For wrk: stops after so many answers; then prints how many had each status, how many bytes came, and the times.
-- Arguments: number of answers, then headers as NAME=VALUE.
local threads = {}

function setup(thread) table.insert(threads, thread) end

function init(args)
  left = tonumber(args[1])
  ok, unchanged, other = 0, 0, 0
  for i = 2, #args do
    local name, value = args[i]:match("^([^=]+)=(.*)$")
    wrk.headers[name] = value
  end
end

function response(status)
  if status == 200 then ok = ok + 1 elseif status == 304 then unchanged = unchanged + 1 else other = other + 1 end
  left = left - 1
  if left == 0 then wrk.thread:stop() end
end

function done(summary, latency)
  local e, t = summary.errors, threads[1]
  print(string.format(
    'RESULT {"ok": %d, "unchanged": %d, "other": %d, "errors": %d, "bytes": %d, "s": %f, "p50_ms": %f, "p99_ms": %f}',
    t:get("ok"), t:get("unchanged"), t:get("other"), e.connect + e.read + e.write + e.status + e.timeout,
    summary.bytes, summary.duration / 1e6, latency:percentile(50) / 1e3, latency:percentile(99) / 1e3))
end
