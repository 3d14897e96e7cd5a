-- A loop played in Ardour and recorded, without its window. Run by `luasession`, which comes with
-- Ardour. Arguments: a folder for the session that is not there yet, the plugin's name and its
-- preset, the frames of a block, the tempo, where the loop begins and ends in quarter notes, and
-- how many turns are recorded.
io.stdout:setvbuf("no")
local folder, name, preset, frames, bpm, from, to, turns = table.unpack(arg)
local RATE = 48000
local TICKS = 1920 -- of Ardour, in a quarter note

local backend = AudioEngine:set_backend("None (Dummy)", "", "")
-- It lets blocks follow each other faster than they sound. None is left out.
assert(backend:set_driver("10x Speed") == 0, "no fast driver")
assert(backend:set_device_name("Silence") == 0, "no silent device")
assert(backend:set_sample_rate(RATE) == 0, "not this rate")
assert(backend:set_buffer_size(tonumber(frames)) == 0, "not this size of blocks")

-- A session of two tracks: one plays, the other records it.
local session = assert(create_session(folder, "loop", RATE), "no session")
local one = ARDOUR.ChanCount(ARDOUR.DataType("midi"), 1)
local function track(title, plugin)
	local tracks = session:new_midi_track(one, one, true, plugin, nil, nil, 1, title,
		ARDOUR.PresentationInfo.max_order, ARDOUR.TrackMode.Normal, false, false)
	return tracks:front()
end
local info = ARDOUR.LuaAPI.new_plugin_info(name, ARDOUR.PluginType.VST3)
assert(not info:isnil(), "Ardour does not know the plugin")
local plugin = track("Plays", info):nth_plugin(0):to_insert():plugin(0)
local state = plugin:preset_by_label(preset)
assert(state and state.valid and plugin:load_preset(state), "the plugin does not take the preset")
local input = track("Records", ARDOUR.PluginInfo()):input():nth(0)
assert(input:connect("Plays/midi_out 1") == 0, "the tracks do not connect")
session:save_state("")
close_session()

-- Scripts cannot set a tempo or a loop: both go into the saved session.
local path = folder .. "/loop.ardour"
local file = assert(io.open(path))
local text = file:read("a")
file:close()
local function replace(this, that)
	local count
	text, count = text:gsub(this, that)
	assert(count == 1, this .. " is there " .. count .. " times")
end
replace('npm="120" enpm="120"', ('npm="%s" enpm="%s"'):format(bpm, bpm))
replace("<Locations/>", ('<Locations><Location id="1000000" name="Loop" start="b%d" end="b%d" '
	.. 'flags="IsAutoLoop" locked="0" timestamp="0" cue="0"/></Locations>'):format(from * TICKS, to * TICKS))
file = assert(io.open(path, "w"))
file:write(text)
file:close()

session = assert(load_session(folder, "loop"), "the session does not load again")
local loop = session:locations():auto_loop_location()
local length = loop:_end():samples() - loop:start():samples()
for found in session:get_tracks():iter() do
	if found:name() == "Records" then
		found:to_track():rec_enable_control():set_value(1, PBD.GroupControlDisposition.NoGroup)
	end
end

-- Waits for something for as long as Ardour may need on a slow machine.
local function await(what, is_so)
	for _ = 1, 30000 do
		if is_so() then
			return
		end
		ARDOUR.LuaAPI.usleep(10000)
	end
	error("Ardour never " .. what)
end
session:maybe_enable_record()
session:request_play_loop(true, false)
await("records", function() return session:actively_recording() end)
local begun = AudioEngine:processed_samples()
-- The turn that is cut off by the end is not looked at.
local wanted = begun + math.floor((turns + 0.5) * length)
await("plays so far", function() return AudioEngine:processed_samples() >= wanted end)
session:request_stop(false, false, ARDOUR.TransportRequestSource.TRS_UI)
await("stops", function() return not session:actively_recording() end)
-- The notes are written after the stop, by a thread that tells nobody.
sleep(1)
session:save_state("")
close_session()
print("loop of " .. length .. " samples recorded")
quit()
