// One colour times the shade that comes with the mesh; nothing beyond the section's plane.
#import bevy_pbr::forward_io::VertexOutput

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> colour: vec4<f32>;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var<uniform> cut: vec4<f32>;

@fragment
fn fragment(in: VertexOutput) -> @location(0) vec4<f32> {
    if dot(cut.xyz, in.world_position.xyz) > cut.w {
        discard;
    }
#ifdef VERTEX_COLORS
    return vec4<f32>(colour.rgb * in.color.rgb, colour.a);
#else
    return colour;
#endif
}
