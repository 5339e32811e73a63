//! Surfaces without gloss, for the graphics card.
//!
//! The graphics library's own surfaces take seconds for a picture where the processor has to draw it. These take a hundredth of that:
//! see `matte.wgsl`. Nodes that have them are never moved: their corners stand where they are shown.

use std::any::Any;
use std::cell::RefCell;
use std::rc::Rc;

use kiss3d::camera::Camera3d;
use kiss3d::context::Context;
use kiss3d::glamx::{Pose3, Vec3};
use kiss3d::light::LightCollection;
use kiss3d::resource::{
    DynamicUniformBuffer, GpuData, GpuMesh3d, Material3d, PipelineCache, RenderContext, multisample_state,
};
use kiss3d::scene::{InstancesBuffer3d, ObjectData3d};

/// How a surface is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Whole.
    Whole,
    /// By slanted strokes, seen through between them.
    Strokes,
    /// By dots, seen through between them.
    Dots,
}

/// Bytes of a view and a projection.
const FRAME: u64 = 2 * 16 * 4;

/// A material as the library shares it between nodes.
pub type Shared = Rc<RefCell<Box<dyn Material3d + 'static>>>;

/// A surface of one colour without gloss; the colour is its node's.
pub struct Matte {
    fill: Fill,
    pipeline: PipelineCache,
    frame: wgpu::Buffer,
    frame_group: wgpu::BindGroup,
    colours: DynamicUniformBuffer<[f32; 4]>,
    colours_layout: wgpu::BindGroupLayout,
    colours_group: wgpu::BindGroup,
    /// Whether view and projection of this frame are on the card.
    seen: bool,
}

impl Matte {
    /// A material with a fill. A surface or window has to be there: it brings the graphics card.
    #[must_use]
    pub fn shared(fill: Fill) -> Shared {
        let material: Box<dyn Material3d> = Box::new(Self::new(fill));
        Rc::new(RefCell::new(material))
    }

    fn new(fill: Fill) -> Self {
        let card = Context::get();
        let layout = |visibility, has_dynamic_offset| {
            card.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
                label: Some("matte"),
                entries: &[wgpu::BindGroupLayoutEntry {
                    binding: 0,
                    visibility,
                    ty: wgpu::BindingType::Buffer {
                        ty: wgpu::BufferBindingType::Uniform,
                        has_dynamic_offset,
                        min_binding_size: None,
                    },
                    count: None,
                }],
            })
        };
        let frame_layout = layout(wgpu::ShaderStages::VERTEX, false);
        let colours_layout = layout(wgpu::ShaderStages::VERTEX_FRAGMENT, true);
        let frame = card.create_buffer(&wgpu::BufferDescriptor {
            label: Some("matte frame"),
            size: FRAME,
            usage: wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST,
            mapped_at_creation: false,
        });
        let frame_group = card.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some("matte frame"),
            layout: &frame_layout,
            entries: &[wgpu::BindGroupEntry { binding: 0, resource: frame.as_entire_binding() }],
        });
        let colours = DynamicUniformBuffer::new("matte colours");
        let colours_group = group(&colours_layout, &colours);
        let pipeline = pipeline(&card, &frame_layout, &colours_layout);
        Self { fill, pipeline, frame, frame_group, colours, colours_layout, colours_group, seen: false }
    }
}

fn group(layout: &wgpu::BindGroupLayout, colours: &DynamicUniformBuffer<[f32; 4]>) -> wgpu::BindGroup {
    Context::get().create_bind_group(&wgpu::BindGroupDescriptor {
        label: Some("matte colours"),
        layout,
        entries: &[wgpu::BindGroupEntry {
            binding: 0,
            resource: wgpu::BindingResource::Buffer(wgpu::BufferBinding {
                buffer: colours.buffer(),
                offset: 0,
                size: std::num::NonZeroU64::new(colours.aligned_size()),
            }),
        }],
    })
}

fn pipeline(card: &Context, frame: &wgpu::BindGroupLayout, colours: &wgpu::BindGroupLayout) -> PipelineCache {
    let layout = card.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
        label: Some("matte"),
        bind_group_layouts: &[Some(frame), Some(colours)],
        immediate_size: 0,
    });
    let shader = card.create_shader_module(Some("matte"), include_str!("matte.wgsl"));
    PipelineCache::new(move |samples| {
        let points = [0_u32, 1].map(|place| {
            [wgpu::VertexAttribute { offset: 0, shader_location: place, format: wgpu::VertexFormat::Float32x3 }]
        });
        let buffers = points.each_ref().map(|attributes| {
            Some(wgpu::VertexBufferLayout { array_stride: 12, step_mode: wgpu::VertexStepMode::Vertex, attributes })
        });
        Context::get().create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some("matte"),
            layout: Some(&layout),
            vertex: wgpu::VertexState {
                module: &shader,
                entry_point: Some("corner"),
                buffers: &buffers,
                compilation_options: wgpu::PipelineCompilationOptions::default(),
            },
            fragment: Some(wgpu::FragmentState {
                module: &shader,
                entry_point: Some("fill"),
                targets: &[Some(wgpu::ColorTargetState::from(Context::render_format()))],
                compilation_options: wgpu::PipelineCompilationOptions::default(),
            }),
            primitive: wgpu::PrimitiveState { cull_mode: Some(wgpu::Face::Back), ..wgpu::PrimitiveState::default() },
            depth_stencil: Some(wgpu::DepthStencilState {
                format: Context::depth_format(),
                depth_write_enabled: Some(true),
                depth_compare: Some(wgpu::CompareFunction::Less),
                stencil: wgpu::StencilState::default(),
                bias: wgpu::DepthBiasState::default(),
            }),
            multisample: multisample_state(samples),
            multiview_mask: None,
            cache: None,
        })
    })
}

/// Where the colour of a node stands in the buffer of a frame.
struct Place(Option<u32>);

impl GpuData for Place {
    fn as_any(&self) -> &dyn Any {
        self
    }

    fn as_any_mut(&mut self) -> &mut dyn Any {
        self
    }
}

impl Material3d for Matte {
    fn create_gpu_data(&self) -> Box<dyn GpuData> {
        Box::new(Place(None))
    }

    fn begin_frame(&mut self) {
        self.seen = false;
        self.colours.clear();
    }

    fn prepare(
        &mut self,
        pass: usize,
        _: Pose3,
        _: Vec3,
        camera: &mut dyn Camera3d,
        _: &LightCollection,
        data: &ObjectData3d,
        place: &mut dyn GpuData,
        _: u32,
        _: u32,
    ) {
        if !self.seen {
            let (view, projection) = camera.view_transform_pair(pass);
            let figures = [view.to_mat4().to_cols_array(), projection.to_cols_array()];
            let bytes: Vec<u8> = figures.iter().flatten().flat_map(|figure| figure.to_ne_bytes()).collect();
            Context::get().write_buffer(&self.frame, 0, &bytes);
            self.seen = true;
        }
        let fill = match self.fill {
            Fill::Whole => 0.0,
            Fill::Strokes => 1.0,
            Fill::Dots => 2.0,
        };
        let colour = data.color();
        if let Some(place) = place.as_any_mut().downcast_mut::<Place>() {
            place.0 = Some(self.colours.push(&[colour.r, colour.g, colour.b, fill]));
        }
    }

    fn flush(&mut self) {
        if self.colours.flush() {
            self.colours_group = group(&self.colours_layout, &self.colours);
        }
    }

    fn render(
        &mut self,
        _: usize,
        _: Pose3,
        _: Vec3,
        _: &mut dyn Camera3d,
        _: &LightCollection,
        data: &ObjectData3d,
        mesh: &mut GpuMesh3d,
        _: &mut InstancesBuffer3d,
        place: &mut dyn GpuData,
        pass: &mut wgpu::RenderPass<'_>,
        context: &RenderContext,
    ) {
        let Some(Place(Some(colour))) = place.as_any().downcast_ref::<Place>() else { return };
        if !data.surface_rendering_active() {
            return;
        }
        // Before the locks: it takes one of them itself.
        let corners = mesh.num_indices();
        // A lock that is poisoned had its panic already.
        let (Ok(mut points), Ok(mut outward), Ok(mut triangles)) =
            (mesh.coords().write(), mesh.normals().write(), mesh.faces().write())
        else {
            return;
        };
        points.load_to_gpu();
        outward.load_to_gpu();
        triangles.load_to_gpu();
        let (Some(points), Some(outward), Some(triangles)) = (points.buffer(), outward.buffer(), triangles.buffer())
        else {
            return;
        };
        pass.set_pipeline(&self.pipeline.get(context.sample_count));
        pass.set_bind_group(0, &self.frame_group, &[]);
        pass.set_bind_group(1, &self.colours_group, &[*colour]);
        pass.set_vertex_buffer(0, points.slice(..));
        pass.set_vertex_buffer(1, outward.slice(..));
        pass.set_index_buffer(triangles.slice(..), wgpu::IndexFormat::Uint32);
        pass.draw_indexed(0..corners, 0, 0..1);
    }
}
