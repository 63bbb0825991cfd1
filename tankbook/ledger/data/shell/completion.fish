# Completion of tankbook for fish:  tankbook completion fish | source
# What is offered is read line by line and evaluated nowhere.
function __tankbook_offered
    set -l before (commandline -opc)
    set -l current (commandline -ct)
    set -l found (command tankbook __complete fish (count $before) $before "$current" 2>/dev/null)
    if test "$found[1]" = ':files'
        __fish_complete_path "$current"
        return
    end
    printf '%s\n' $found
end
complete -c tankbook -f -a '(__tankbook_offered)'
