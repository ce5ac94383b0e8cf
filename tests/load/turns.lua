-- Asks for the addresses of a file in turn, as somebody who is signed in, and ends with one line that a program can read:
-- wrk … -s turns.lua URL -- FILE TOKEN
local paths, turn = {}, 0

function init(args)
    for line in io.lines(args[1]) do
        paths[#paths + 1] = line
    end
    wrk.headers["Authorization"] = "Bearer " .. args[2]
end

function request()
    turn = turn % #paths + 1
    return wrk.format("GET", paths[turn])
end

function done(summary, latency, requests)
    local errors = summary.errors
    print(string.format("SUM requests=%d micros=%d refused=%d lost=%d p50=%d p99=%d", summary.requests, summary.duration, errors.status,
        errors.connect + errors.read + errors.write + errors.timeout, latency:percentile(50), latency:percentile(99)))
end
