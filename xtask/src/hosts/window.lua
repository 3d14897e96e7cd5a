-- A session of one MIDI track with the plugin on it, whose window opens with the session. Run by
-- `luasession`, which comes with Ardour. Arguments: a folder for the session that is not there yet,
-- and the plugin's name.
local folder, name = table.unpack(arg)

local backend = AudioEngine:set_backend("None (Dummy)", "", "")
assert(backend:set_device_name("Silence") == 0, "no silent device")
local session = assert(create_session(folder, "window", 48000), "no session")
local one = ARDOUR.ChanCount(ARDOUR.DataType("midi"), 1)
local info = ARDOUR.LuaAPI.new_plugin_info(name, ARDOUR.PluginType.VST3)
assert(not info:isnil(), "Ardour does not know the plugin")
local track = session:new_midi_track(one, one, true, info, nil, nil, 1, "Guide",
	ARDOUR.PresentationInfo.max_order, ARDOUR.TrackMode.Normal, false, false):front()
local function id(object)
	return object:to_stateful():id():to_s()
end
local window = "P-" .. id(track) .. "-" .. id(track:nth_plugin(0))
session:save_state("")
close_session()

-- Scripts cannot open a window: that goes into the saved session.
local path = folder .. "/window.ardour"
local file = assert(io.open(path))
local text = file:read("a")
file:close()
local count
text, count = text:gsub("</Session>", ('<Extra><UI><Window name="%s" visible="1" x-off="0" y-off="0" '
	.. 'x-size="-1" y-size="-1" custom-ui="1"/></UI></Extra></Session>'):format(window))
assert(count == 1, "the session has another form")
file = assert(io.open(path, "w"))
file:write(text)
file:close()
quit()
